package db

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tapeline/db/query"
)

// Refit is a row of refits.
type Refit = query.Refit

// RefitScope chooses the orders of a refit; a zero field chooses all.
type RefitScope struct {
	ShopID         uuid.UUID
	Statuses       []string
	Blocks         []string // the block must be each of these
	Styles         []string // likewise the style
	StyleRevision  int
	NotScript      []byte // drafted by any script of the style but that of this hash
	Fit            string
	CustomerID     uuid.UUID
	Set            uuid.UUID // drafted from that measurement set
	NotSet         uuid.UUID // drafted from any but that
	Alterations    uuid.UUID // drafted with that version
	NotAlterations uuid.UUID // drafted with another or none
	CreatedFrom    time.Time
	CreatedBefore  time.Time
	IDs            []uuid.UUID // nil: any
}

// where is the scope as a condition on orders o.
func (s RefitScope) where() (string, pgx.NamedArgs) {
	where := `o.shop_id = @shop AND o.status = ANY (@statuses)`
	args := pgx.NamedArgs{"shop": s.ShopID, "statuses": s.Statuses}
	and := func(chosen bool, condition, name string, v any) {
		if chosen {
			where += ` AND ` + condition
			args[name] = v
		}
	}
	and(len(s.Blocks) > 0, `o.block = ALL (@blocks)`, "blocks", s.Blocks)
	and(len(s.Styles) > 0, `o.style = ALL (@styles)`, "styles", s.Styles)
	and(s.StyleRevision > 0, `(o.spec ->> 'style_revision')::integer = @style_revision`, "style_revision", s.StyleRevision)
	and(s.NotScript != nil, `o.style_hash <> @script`, "script", s.NotScript)
	and(s.Fit != "", `o.spec ->> 'fit' = @fit`, "fit", s.Fit)
	and(s.CustomerID != uuid.Nil, `o.customer_id = @customer`, "customer", s.CustomerID)
	and(s.Set != uuid.Nil, `o.measurement_set_id = @set`, "set", s.Set)
	and(s.NotSet != uuid.Nil, `o.measurement_set_id <> @not_set`, "not_set", s.NotSet)
	const with = `(SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision)`
	and(s.Alterations != uuid.Nil, with+` = @alterations`, "alterations", s.Alterations)
	and(s.NotAlterations != uuid.Nil, with+` IS DISTINCT FROM @not_alterations`, "not_alterations", s.NotAlterations)
	and(!s.CreatedFrom.IsZero(), `o.created_at >= @from`, "from", s.CreatedFrom)
	and(!s.CreatedBefore.IsZero(), `o.created_at < @before`, "before", s.CreatedBefore)
	and(s.IDs != nil, `o.id = ANY (@ids)`, "ids", s.IDs)
	return where, args
}

// InsertRefit stores a refit with the orders that are in its scope now, the
// oldest first in batches of a size, and gives how many orders and batches there
// are. At most limit orders are taken, and one more to tell that there are more.
func (t *Tx) InsertRefit(ctx context.Context, r Refit, scope RefitScope, size, limit int) (orders, batches int,
	err error) {
	_, err = exec(ctx, t.db, `
		INSERT INTO refits (id, shop_id, status, change, scope, paper, reason, orders, created_by, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, 0, $8, $9)`,
		r.ID, r.ShopID, r.Status, r.Change, r.Scope, r.Paper, r.Reason, r.CreatedBy, r.CreatedAt)
	if err != nil {
		return 0, 0, err
	}
	where, args := scope.where()
	args["refit"], args["size"], args["limit"] = r.ID, size, limit+1
	n, err := exec(ctx, t.db, `
		INSERT INTO refit_orders (refit_id, order_id, shop_id, batch)
		SELECT @refit, s.id, @shop, (row_number() OVER (ORDER BY s.id) - 1) / @size
		FROM (SELECT o.id FROM orders o WHERE `+where+` ORDER BY o.id LIMIT @limit) s`, args)
	if err != nil {
		return 0, 0, err
	}
	_, err = exec(ctx, t.db, `UPDATE refits SET orders = $2 WHERE id = $1`, r.ID, n)
	return int(n), (int(n) + size - 1) / size, err
}

// AddLeftAlone adds orders to a refit that its scope leaves out although they
// were named, with why.
func (t *Tx) AddLeftAlone(ctx context.Context, r Refit, orders []uuid.UUID, why string) (int, error) {
	n, err := exec(ctx, t.db, `
		INSERT INTO refit_orders (refit_id, order_id, shop_id, batch, finding, reason_code, previewed_at)
		SELECT $1, o.id, o.shop_id, -1, 'left_alone', $4, $5 FROM orders o
		WHERE o.shop_id = $2 AND o.id = ANY ($3)
		ON CONFLICT DO NOTHING`, r.ID, r.ShopID, orders, why, r.CreatedAt)
	if err != nil || n == 0 {
		return int(n), err
	}
	_, err = exec(ctx, t.db, `UPDATE refits SET orders = orders + $2 WHERE id = $1`, r.ID, n)
	return int(n), err
}

// ArrivedSince counts orders that are in the scope now and not in the refit:
// placed, drafted or revised into it since the time.
func (q Queries) ArrivedSince(ctx context.Context, refit uuid.UUID, scope RefitScope, at time.Time) (int, error) {
	where, args := scope.where()
	args["refit"], args["since"] = refit, at
	return scalar[int](ctx, q.db, `
		SELECT count(*) FROM orders o
		WHERE `+where+` AND o.updated_at >= @since
			AND NOT EXISTS (SELECT FROM refit_orders r WHERE r.refit_id = @refit AND r.order_id = o.id)`, args)
}
