package db

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tapeline/db/query"
)

// Rows that an order may begin with.
type (
	Customer       = query.Customer
	MeasurementSet = query.MeasurementSet
)

// ensureCustomer inserts a customer, or updates the name of the one with its
// reference if a name is given. The row is locked until the transaction ends.
const ensureCustomer = `
	INSERT INTO customers (id, shop_id, reference, name, created_at, updated_at)
	VALUES ($1, $2, $3, $4, $5, $6)
	ON CONFLICT (shop_id, reference) DO UPDATE SET
		name = coalesce(excluded.name, customers.name),
		updated_at = CASE WHEN excluded.name IS NOT NULL AND excluded.name IS DISTINCT FROM customers.name
			THEN excluded.updated_at ELSE customers.updated_at END`

// A customer that the same batch ensures is known by reference only, since the
// row may have existed before.
const insertMeasurementSet = `
	WITH owner AS (
		UPDATE customers SET sets = sets + 1
		WHERE shop_id = @shop AND (id = @customer OR reference = @reference) AND erased_at IS NULL
		RETURNING id, sets
	)
	INSERT INTO measurement_sets (id, shop_id, customer_id, version, unit, given, report, created_by, created_at)
	SELECT @id, @shop, owner.id, owner.sets, @unit, @given, @report, @by, @at
	FROM owner
	RETURNING customer_id, version`

// NewOrder is an order with all that begins with it.
type NewOrder struct {
	Order    Order
	Customer *Customer       // to be ensured; nil: Order.CustomerID names one
	Set      *MeasurementSet // to be stored; nil: Order.MeasurementSetID names one
	Event    OrderEvent      // the first line of its history
	Message  *NewMessage     // to endpoints that listen; nil: none
}

// PlacedOrder is what became of a NewOrder.
type PlacedOrder struct {
	CustomerID       uuid.UUID // another than was given where the shop had one with that reference
	MeasurementSetID uuid.UUID
	SetVersion       int
	Messages         []QueuedMessage // to be delivered
}

// The order takes its customer from the row that is there now, locked against
// an erasure, and its set only from that customer (a foreign key sees to it).
const placeOrder = `
	WITH owner AS (
		SELECT id FROM customers
		WHERE shop_id = @shop AND (id = @customer OR reference = @customer_reference) AND erased_at IS NULL
		FOR SHARE
	)
	INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status,
		reason_code, faults, created_by, created_at, updated_at)
	SELECT @id, @shop, @reference, owner.id, @set, @source, @spec, @status, @reason, @faults, @by, @at, @at
	FROM owner
	RETURNING customer_id, measurement_set_id`

// PlaceOrder stores an order, in one round trip. ErrNotFound says that the shop
// has no such customer. A taken reference conflicts with orders_reference_key, a
// set of another customer with orders_measurement_set_fkey; the transaction can
// then only be rolled back.
func (t *Tx) PlaceOrder(ctx context.Context, n NewOrder) (PlacedOrder, error) {
	var reference *string
	batch := &pgx.Batch{}
	if c := n.Customer; c != nil {
		reference = c.Reference
		n.Order.CustomerID = c.ID
		batch.Queue(ensureCustomer, c.ID, c.ShopID, c.Reference, c.Name, c.CreatedAt, c.UpdatedAt)
	}
	var placed PlacedOrder
	if s := n.Set; s != nil {
		n.Order.MeasurementSetID = s.ID
		set := *s
		set.CustomerID = n.Order.CustomerID
		batch.Queue(insertMeasurementSet, pgx.StrictNamedArgs{
			"id": set.ID, "shop": set.ShopID, "customer": set.CustomerID, "reference": reference, "unit": set.Unit,
			"given": set.Given, "report": set.Report, "by": set.CreatedBy, "at": set.CreatedAt,
		}).QueryRow(func(row pgx.Row) error {
			return row.Scan(&placed.CustomerID, &placed.SetVersion)
		})
	}
	o := n.Order
	batch.Queue(placeOrder, pgx.StrictNamedArgs{
		"id": o.ID, "shop": o.ShopID, "reference": o.Reference, "customer": o.CustomerID, "customer_reference": reference,
		"set": o.MeasurementSetID, "source": o.Source, "spec": o.Spec, "status": o.Status, "reason": o.ReasonCode,
		"faults": o.Faults, "by": o.CreatedBy, "at": o.CreatedAt,
	}).QueryRow(func(row pgx.Row) error {
		return row.Scan(&placed.CustomerID, &placed.MeasurementSetID)
	})
	batch.Queue(appendEvent, n.Event.args()...)
	if n.Message != nil {
		queueMessages(batch, *n.Message, &placed.Messages)
	}
	return placed, translate(t.db.SendBatch(ctx, batch).Close())
}
