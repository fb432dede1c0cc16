package db

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// RefitFinding is what a preview found for one order.
type RefitFinding struct {
	OrderID       uuid.UUID
	Finding       string
	BasisRevision *int
	BasisRequest  *int
	ReasonCode    *string
	Faults        json.RawMessage
	Comparison    json.RawMessage
	Largest       *float64
}

// RecordFindings writes the findings of orders that still wait for one, and
// returns 1 if an order of the refit is left waiting, otherwise 0. An order whose
// customer was erased meanwhile gets no comparison.
func (t *Tx) RecordFindings(
	ctx context.Context, refit uuid.UUID, found []RefitFinding, at time.Time,
) (waiting int, err error) {
	batch := &pgx.Batch{}
	for _, f := range found {
		batch.Queue(`
			UPDATE refit_orders r SET finding = @finding, basis_revision = @revision,
				basis_request = @request, reason_code = @reason,
				faults = CASE WHEN r.erased_at IS NULL THEN @faults::jsonb END,
				comparison = CASE WHEN r.erased_at IS NULL THEN @comparison::jsonb END, largest = @largest,
				previewed_at = @at
			WHERE refit_id = @refit AND order_id = @order AND finding = 'waiting'`,
			pgx.StrictNamedArgs{
				"refit": refit, "order": f.OrderID, "finding": f.Finding, "revision": f.BasisRevision, "request": f.BasisRequest,
				"reason": f.ReasonCode, "faults": f.Faults, "comparison": f.Comparison, "largest": f.Largest, "at": at,
			})
	}
	batch.Queue(`SELECT count(*) FROM (SELECT FROM refit_orders WHERE refit_id = $1 AND finding = 'waiting' LIMIT 1) w`,
		refit).
		QueryRow(func(row pgx.Row) error { return row.Scan(&waiting) })
	err = translate(t.db.SendBatch(ctx, batch).Close())
	return waiting, err
}

// DecideRefit gives every order of a previewed refit its outcome, but for those
// chosen that change: all, or those of the ids. It tells how many were chosen,
// and in which batches. It conflicts with refit_orders_chosen where another refit
// is just applying one of them.
func (t *Tx) DecideRefit(
	ctx context.Context, refit uuid.UUID, decision string, ids []uuid.UUID, at time.Time,
) (chosen int, batches []int, err error) {
	_, err = exec(ctx, t.db, `
		UPDATE refit_orders SET
			outcome = CASE
				WHEN finding <> 'changes' THEN finding
				WHEN $2 = 'all' OR $2 = 'some' AND order_id = ANY ($3) THEN 'chosen'
				ELSE 'declined' END,
			settled_at = CASE WHEN finding = 'changes' AND ($2 = 'all' OR $2 = 'some' AND order_id = ANY ($3))
				THEN NULL ELSE $4::timestamptz END
		WHERE refit_id = $1 AND outcome IS NULL`, refit, decision, ids, at)
	if err != nil {
		return 0, nil, err
	}
	type row struct{ Batch, Count int }
	rows, err := many[row](ctx, t.db, `
		SELECT batch, count(*) AS count FROM refit_orders WHERE refit_id = $1 AND outcome = 'chosen'
		GROUP BY batch ORDER BY batch`, refit)
	for _, r := range rows {
		chosen += r.Count
		batches = append(batches, r.Batch)
	}
	return chosen, batches, err
}

// LockedOrder is how an order stands while it is locked, with its latest draft.
type LockedOrder struct {
	ID           uuid.UUID
	Status       string
	ReasonCode   *string
	Revision     int
	DraftRequest int
	Progress     string
	LastRefit    *uuid.UUID // that its draft was made by
}

// LockOrders locks orders until the transaction ends and tells how they stand.
func (t *Tx) LockOrders(ctx context.Context, ids []uuid.UUID) (map[uuid.UUID]LockedOrder, error) {
	rows, err := many[LockedOrder](ctx, t.db, `
		SELECT o.id, o.status, o.reason_code, coalesce(o.revision, 0) AS revision, o.draft_request, o.progress,
			(SELECT refit_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision) AS last_refit
		FROM orders o WHERE o.id = ANY ($1) ORDER BY o.id FOR NO KEY UPDATE OF o`, ids)
	locked := make(map[uuid.UUID]LockedOrder, len(rows))
	for _, r := range rows {
		locked[r.ID] = r
	}
	return locked, err
}

// RefitOutcome is what becomes of one order that was chosen. With a Draft the
// order gets its spec, its measurement set and its number.
type RefitOutcome struct {
	OrderID    uuid.UUID
	Outcome    string
	ReasonCode *string
	Faults     json.RawMessage
	Draft      *DraftRevision // OrderID and Hash are filled in
	Event      OrderEvent
	Message    *NewMessage
}

// As SettleDraft, one statement for each order. The caller holds the orders'
// locks and has seen that they still are as the preview saw them.
const applyRefit = `
	WITH revised AS (
		UPDATE orders SET spec = @spec, measurement_set_id = @set, revision = @number,
			draft_request = draft_request + 1, updated_at = @at
		WHERE id = @order RETURNING id, shop_id
	), drafted AS (
		INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, alterations_id, spec, engine, hash,
			document, checks, label, parent, refit_id, reason, created_by, created_at)
		SELECT id, @number, shop_id, @set, @alterations, @spec, @engine, @hash,
			@geometry, @checks, @label, @parent, @refit, @reason, @by, @at
		FROM revised
	), recorded AS (
		INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, reason,
			actor, refit_id, at)
		SELECT shop_id, id, @event, @status, @status, @number, NULL, @reason, @by, @refit, @at FROM revised
	), settled AS (
		UPDATE refit_orders SET outcome = 'revised', revision = @number, settled_at = @at
		WHERE refit_id = @refit AND order_id = @order
	)
	INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
	SELECT uuid_v7(@at), e.shop_id, e.id, @type, revised.id, @body, @at, @at
	FROM revised JOIN webhook_endpoints e USING (shop_id)
	WHERE e.deleted_at IS NULL AND e.disabled_at IS NULL AND @type = ANY (e.events)
	RETURNING id, endpoint_id`

// ApplyRefit writes the outcomes of orders that are locked, and gives the
// messages to deliver and how many of the refit's orders are still to be done.
func (t *Tx) ApplyRefit(ctx context.Context, refit uuid.UUID, outcomes []RefitOutcome,
	at time.Time) (messages []QueuedMessage, left int, err error) {
	batch := &pgx.Batch{}
	for _, o := range outcomes {
		if o.Draft == nil {
			batch.Queue(`
				UPDATE refit_orders SET outcome = $3, reason_code = $4,
					faults = CASE WHEN erased_at IS NULL THEN $5::jsonb END, settled_at = $6
				WHERE refit_id = $1 AND order_id = $2`, refit, o.OrderID, o.Outcome, o.ReasonCode, o.Faults, at)
			continue
		}
		d := o.Draft
		hash := sha256.Sum256(d.Document)
		batch.Queue(applyRefit, pgx.StrictNamedArgs{
			"refit": refit, "order": o.OrderID, "spec": d.Spec, "set": d.MeasurementSetID, "alterations": d.AlterationsID,
			"number": d.Number, "parent": d.Parent,
			"engine": d.Engine, "hash": hash[:], "geometry": compress(d.Document), "checks": d.Checks, "label": d.Label,
			"reason": d.Reason, "by": d.CreatedBy,
			"event": o.Event.Event, "status": o.Event.ToStatus, "type": o.Message.Type, "body": o.Message.Body, "at": at,
		}).Query(func(rows pgx.Rows) error {
			queued, err := pgx.CollectRows(rows, pgx.RowToStructByName[QueuedMessage])
			messages = append(messages, queued...)
			return err
		})
	}
	batch.Queue(`SELECT count(*) FROM (SELECT FROM refit_orders WHERE refit_id = $1 AND outcome = 'chosen' LIMIT 1) c`,
		refit).
		QueryRow(func(row pgx.Row) error { return row.Scan(&left) })
	err = translate(t.db.SendBatch(ctx, batch).Close())
	return messages, left, err
}
