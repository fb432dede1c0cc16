package db

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Erased counts what EraseCustomer emptied.
type Erased struct {
	Sets, Alterations, Drafts, Events, Links, Answers int64
}

// EraseCustomer removes what is known of a person: name and reference,
// measurements and the checks on them, alterations, the drafts' geometry and
// comparisons of it, notes in the history, what was wrong with an order, download links, and answers kept for
// repeated requests. Orders stay as bare records: that one existed, when, for
// which block, and what became of it.
//
// Orders still to be drafted are the caller's to cancel first, in the same
// transaction. ErrNotFound says that the shop has no such customer, or none
// any more. Backups keep the data until they lapse.
func (t *Tx) EraseCustomer(ctx context.Context, shop, customer uuid.UUID, at time.Time) (Erased, error) {
	// First the customer, whose lock makes orders and sets being added wait, and then fail.
	err := execOne(ctx, t.db, `
		UPDATE customers SET name = NULL, reference = NULL, erased_at = $3, updated_at = $3
		WHERE shop_id = $1 AND id = $2 AND erased_at IS NULL`, shop, customer, at)
	if err != nil {
		return Erased{}, err
	}
	var e Erased
	batch := &pgx.Batch{}
	count := func(n *int64, sql string, args ...any) {
		batch.Queue(sql, args...).Exec(func(tag pgconn.CommandTag) error {
			*n = tag.RowsAffected()
			return nil
		})
	}
	const theirs = `order_id IN (SELECT id FROM orders WHERE customer_id = $1)`
	count(&e.Sets, `
		UPDATE measurement_sets SET given = NULL, report = NULL, erased_at = $2
		WHERE customer_id = $1 AND erased_at IS NULL`, customer, at)
	count(&e.Alterations, `
		UPDATE alterations SET given = NULL, reason = NULL, erased_at = $2
		WHERE customer_id = $1 AND erased_at IS NULL`, customer, at)
	count(&e.Drafts, `
		UPDATE draft_revisions SET geometry = NULL, checks = NULL, label = NULL, reason = NULL, erased_at = $2
		WHERE `+theirs+` AND erased_at IS NULL`, customer, at)
	count(&e.Events, `
		UPDATE order_events SET reason = NULL, confirmed = NULL, erased_at = $2
		WHERE `+theirs+` AND (reason IS NOT NULL OR confirmed IS NOT NULL) AND erased_at IS NULL`, customer, at)
	count(new(int64), `
		UPDATE refit_orders SET comparison = NULL, faults = NULL, erased_at = $2
		WHERE `+theirs+` AND erased_at IS NULL`, customer, at)
	count(new(int64), `UPDATE orders SET faults = NULL WHERE customer_id = $1 AND faults IS NOT NULL`, customer)
	count(&e.Links, `DELETE FROM download_links WHERE `+theirs, customer)
	count(&e.Answers, `DELETE FROM idempotency_keys WHERE customer_id = $1`, customer)
	return e, translate(t.db.SendBatch(ctx, batch).Close())
}

// OpenOrders lists, and locks, a customer's orders that are neither cancelled
// nor failed for good: all that an erasure must cancel.
func (t *Tx) OpenOrders(ctx context.Context, shop, customer uuid.UUID) ([]Order, error) {
	return many[Order](ctx, t.db, `
		SELECT `+orderColumns+` FROM orders
		WHERE shop_id = $1 AND customer_id = $2 AND status <> 'cancelled'
		ORDER BY id FOR NO KEY UPDATE`, shop, customer)
}

// StaleCustomer is one kept for longer than their shop wants.
type StaleCustomer struct {
	ID, ShopID uuid.UUID
}

// StaleCustomers lists customers whose shop sets a retention time, and who
// have had no order, no change of one, no measurements and no alterations for
// that long.
func (q Queries) StaleCustomers(ctx context.Context, now time.Time, limit int) ([]StaleCustomer, error) {
	return many[StaleCustomer](ctx, q.db, `
		SELECT c.id, c.shop_id
		FROM shops s
		JOIN customers c ON c.shop_id = s.id AND c.erased_at IS NULL
			AND c.updated_at < $1::timestamptz - make_interval(days => s.retention_days)
		WHERE s.retention_days IS NOT NULL
			AND NOT EXISTS (
				SELECT FROM orders o
				WHERE o.customer_id = c.id AND o.updated_at >= $1::timestamptz - make_interval(days => s.retention_days))
			AND NOT EXISTS (
				SELECT FROM measurement_sets m
				WHERE m.customer_id = c.id AND m.created_at >= $1::timestamptz - make_interval(days => s.retention_days))
			AND NOT EXISTS (
				SELECT FROM alterations a
				WHERE a.customer_id = c.id AND a.created_at >= $1::timestamptz - make_interval(days => s.retention_days))
		ORDER BY c.id LIMIT $2`, now, limit)
}
