package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Order is a shop's order for one pattern.
type Order struct {
	ID               uuid.UUID
	ShopID           uuid.UUID
	Reference        string // the shop's own, unique in the shop
	CustomerID       uuid.UUID
	MeasurementSetID uuid.UUID
	Source           string // api or inbound
	// what is ordered, all but the body: an object with block, or with style and style_hash
	Spec          json.RawMessage
	Status        string          // received, held, ready, failed or cancelled
	ReasonCode    *string         // required when held or failed
	Faults        json.RawMessage // the reason at length; nil for none
	Revision      int             // the draft that is handed out, 0 for none
	AlterationsID *uuid.UUID      // that the draft was made with; follows from Revision
	DraftRequest  int             // number of the latest request to draft, from 1
	Progress      string          // uncut, cut or shipped; "" in PlaceOrder
	CreatedBy     *uuid.UUID
	CreatedAt     time.Time
	UpdatedAt     time.Time
}

const orderColumns = `id, shop_id, reference, customer_id, measurement_set_id, source, spec, status,
	reason_code, faults, coalesce(revision, 0) AS revision,
	(SELECT d.alterations_id FROM draft_revisions d
		WHERE d.order_id = orders.id AND d.number = orders.revision) AS alterations_id,
	draft_request, progress, created_by, created_at, updated_at`

func (q Queries) Order(ctx context.Context, shop, id uuid.UUID) (Order, error) {
	return one[Order](ctx, q.db, `SELECT `+orderColumns+` FROM orders WHERE shop_id = $1 AND id = $2`, shop, id)
}

// OrderForUpdate reads an order and locks it until the transaction ends, so
// that what is decided on it still holds when UpdateOrder writes it.
func (t *Tx) OrderForUpdate(ctx context.Context, shop, id uuid.UUID) (Order, error) {
	return one[Order](ctx, t.db, `
		SELECT `+orderColumns+` FROM orders WHERE shop_id = $1 AND id = $2 FOR NO KEY UPDATE`, shop, id)
}

// UpdateOrder writes what may change of an order: measurement set, spec,
// status, reason, faults, revision, draft request, and progress unless that is
// "". The caller has checked that they may follow those before.
func (t *Tx) UpdateOrder(ctx context.Context, o Order) error {
	return execOne(ctx, t.db, `
		UPDATE orders SET measurement_set_id = @set, spec = @spec, status = @status, reason_code = @reason,
			faults = @faults, revision = nullif(@revision::integer, 0), draft_request = @request,
			progress = coalesce(nullif(@progress, ''), progress), updated_at = @at
		WHERE shop_id = @shop AND id = @id`,
		pgx.StrictNamedArgs{
			"shop": o.ShopID, "id": o.ID, "set": o.MeasurementSetID, "spec": o.Spec, "status": o.Status, "reason": o.ReasonCode,
			"faults": o.Faults, "revision": o.Revision, "request": o.DraftRequest, "progress": o.Progress, "at": o.UpdatedAt,
		})
}

// OrderFilter chooses orders; a zero field chooses all.
type OrderFilter struct {
	Status        string
	Reference     string
	CustomerID    uuid.UUID
	Block         string
	Style         string    // by its slug
	CreatedFrom   time.Time // that time or later
	CreatedBefore time.Time
}

// Orders lists a shop's.
func (q Queries) Orders(ctx context.Context, shop uuid.UUID, f OrderFilter, page Page) ([]Order, error) {
	// Conditions that are not asked for are left out, so that each kind of list gets its own plan.
	where := ``
	if f.Status != "" {
		where += ` AND status = @status`
	}
	if f.Reference != "" {
		where += ` AND reference = @reference`
	}
	if f.CustomerID != uuid.Nil {
		where += ` AND customer_id = @customer`
	}
	if f.Block != "" {
		where += ` AND block = @block`
	}
	if f.Style != "" {
		where += ` AND style = @style`
	}
	if !f.CreatedFrom.IsZero() {
		where += ` AND created_at >= @from`
	}
	if !f.CreatedBefore.IsZero() {
		where += ` AND created_at < @before`
	}
	return many[Order](ctx, q.db, `
		SELECT `+orderColumns+` FROM orders
		WHERE shop_id = @shop AND id < @after`+where+`
		ORDER BY id DESC LIMIT @limit`,
		pgx.NamedArgs{
			"shop": shop, "after": page.start(), "limit": page.Limit,
			"status": f.Status, "reference": f.Reference, "customer": f.CustomerID, "block": f.Block, "style": f.Style,
			"from": f.CreatedFrom, "before": f.CreatedBefore,
		})
}

// OrderEvent is a line of an order's history. Erasure empties Note and
// Confirmed.
type OrderEvent struct {
	ID         int64 // given by the database
	ShopID     uuid.UUID
	OrderID    uuid.UUID
	Event      string
	FromStatus *string // nil: it began
	ToStatus   string
	Revision   *int
	ReasonCode *string
	Note       *string         `db:"reason"` // a person's own words
	Confirmed  json.RawMessage // the numbers that somebody said are right; nil: none were in doubt
	Actor      *uuid.UUID      // the key; nil: the service itself
	RefitID    *uuid.UUID      // the refit that it was done for
	At         time.Time
	ErasedAt   *time.Time
}

const appendEvent = `
	INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, reason, confirmed,
		actor, refit_id, at)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`

func (e OrderEvent) args() []any {
	return []any{e.ShopID, e.OrderID, e.Event, e.FromStatus, e.ToStatus, e.Revision, e.ReasonCode, e.Note, e.Confirmed,
		e.Actor, e.RefitID, e.At}
}

// AppendEvent adds a line to an order's history.
func (t *Tx) AppendEvent(ctx context.Context, e OrderEvent) error {
	_, err := exec(ctx, t.db, appendEvent, e.args()...)
	return err
}

// OrderEvents lists the histories of orders, oldest first.
func (q Queries) OrderEvents(ctx context.Context, shop uuid.UUID, orders ...uuid.UUID) ([]OrderEvent, error) {
	return many[OrderEvent](ctx, q.db, `
		SELECT id, shop_id, order_id, event, from_status, to_status, revision, reason_code, reason, confirmed, actor,
			refit_id, at, erased_at
		FROM order_events WHERE shop_id = $1 AND order_id = ANY ($2) ORDER BY id`, shop, orders)
}
