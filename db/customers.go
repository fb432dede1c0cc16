package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Customer is a person that a shop makes for.
type Customer struct {
	ID        uuid.UUID
	ShopID    uuid.UUID
	Reference *string // the shop's own, unique in the shop
	Name      *string
	CreatedAt time.Time
	UpdatedAt time.Time
	ErasedAt  *time.Time
}

const customerColumns = `id, shop_id, reference, name, created_at, updated_at, erased_at`

// InsertCustomer conflicts with customers_reference_key where the reference is taken.
func (q Queries) InsertCustomer(ctx context.Context, c Customer) error {
	_, err := exec(ctx, q.db, `
		INSERT INTO customers (id, shop_id, reference, name, created_at, updated_at)
		VALUES ($1, $2, $3, $4, $5, $6)`,
		c.ID, c.ShopID, c.Reference, c.Name, c.CreatedAt, c.UpdatedAt)
	return err
}

const ensureCustomer = `
	INSERT INTO customers (id, shop_id, reference, name, created_at, updated_at)
	VALUES ($1, $2, $3, $4, $5, $6)
	ON CONFLICT (shop_id, reference) DO UPDATE SET
		name = coalesce(excluded.name, customers.name),
		updated_at = CASE WHEN excluded.name IS NOT NULL AND excluded.name IS DISTINCT FROM customers.name
			THEN excluded.updated_at ELSE customers.updated_at END
	RETURNING ` + customerColumns

// EnsureCustomer inserts the customer, or where the shop has one with that
// reference takes that one, with the new name if one is given. The row is
// locked until the transaction ends.
func (q Queries) EnsureCustomer(ctx context.Context, c Customer) (Customer, error) {
	return one[Customer](ctx, q.db, ensureCustomer, c.ID, c.ShopID, c.Reference, c.Name, c.CreatedAt, c.UpdatedAt)
}

// UpdateCustomer sets reference and name. An erased customer is not found.
func (q Queries) UpdateCustomer(ctx context.Context, c Customer) error {
	return execOne(ctx, q.db, `
		UPDATE customers SET reference = $3, name = $4, updated_at = $5
		WHERE shop_id = $1 AND id = $2 AND erased_at IS NULL`,
		c.ShopID, c.ID, c.Reference, c.Name, c.UpdatedAt)
}

func (q Queries) Customer(ctx context.Context, shop, id uuid.UUID) (Customer, error) {
	return one[Customer](ctx, q.db, `SELECT `+customerColumns+` FROM customers WHERE shop_id = $1 AND id = $2`, shop, id)
}

// Customers lists a shop's; reference "" is any.
func (q Queries) Customers(ctx context.Context, shop uuid.UUID, reference string, page Page) ([]Customer, error) {
	return many[Customer](ctx, q.db, `
		SELECT `+customerColumns+` FROM customers
		WHERE shop_id = $1 AND ($2 = '' OR reference = $2) AND id < $3
		ORDER BY id DESC LIMIT $4`, shop, reference, page.start(), page.Limit)
}

// MeasurementSet is a customer's measurements as taken at one time. It never
// changes; other measurements are another version. Erasure empties Given and
// Report.
type MeasurementSet struct {
	ID         uuid.UUID
	ShopID     uuid.UUID
	CustomerID uuid.UUID
	Version    int    // given by the database: 1, 2, ... for each customer
	Unit       string // cm or inch
	Given      json.RawMessage
	Report     json.RawMessage
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	ErasedAt   *time.Time
}

const setColumns = `id, shop_id, customer_id, version, unit, given, report, created_by, created_at, erased_at`

// Counting on the customer's row makes two sets at once wait for each other. A
// customer being made in the same batch is known by reference alone, since one
// with that reference may have been there already. An erased customer gets no
// set.
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

func (s MeasurementSet) args(reference *string) pgx.StrictNamedArgs {
	return pgx.StrictNamedArgs{
		"id": s.ID, "shop": s.ShopID, "customer": s.CustomerID, "reference": reference, "unit": s.Unit,
		"given": s.Given, "report": s.Report, "by": s.CreatedBy, "at": s.CreatedAt,
	}
}

// InsertMeasurementSet stores the set and gives its version. ErrNotFound says
// that the shop has no such customer, or none any more.
func (q Queries) InsertMeasurementSet(ctx context.Context, s MeasurementSet) (version int, err error) {
	var customer uuid.UUID
	err = q.db.QueryRow(ctx, insertMeasurementSet, s.args(nil)).Scan(&customer, &version)
	return version, translate(err)
}

func (q Queries) MeasurementSet(ctx context.Context, shop, id uuid.UUID) (MeasurementSet, error) {
	return one[MeasurementSet](ctx, q.db, `
		SELECT `+setColumns+` FROM measurement_sets WHERE shop_id = $1 AND id = $2`, shop, id)
}

// MeasurementSets lists a customer's, newest first.
func (q Queries) MeasurementSets(ctx context.Context, shop, customer uuid.UUID, page Page) ([]MeasurementSet, error) {
	return many[MeasurementSet](ctx, q.db, `
		SELECT `+setColumns+` FROM measurement_sets
		WHERE shop_id = $1 AND customer_id = $2 AND id < $3
		ORDER BY id DESC LIMIT $4`, shop, customer, page.start(), page.Limit)
}

// LatestMeasurementSets are the ids of the latest set of each customer of a
// shop who was not erased, the customers newest first.
func (q Queries) LatestMeasurementSets(ctx context.Context, shop uuid.UUID, limit int) ([]uuid.UUID, error) {
	rows, err := q.db.Query(ctx, `
		SELECT m.id FROM customers c JOIN measurement_sets m ON m.customer_id = c.id AND m.version = c.sets
		WHERE c.shop_id = $1 AND c.erased_at IS NULL AND m.erased_at IS NULL
		ORDER BY c.id DESC LIMIT $2`, shop, limit)
	if err != nil {
		return nil, translate(err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	return ids, translate(err)
}

// MeasurementSetsByID reads those of the sets that the shop has.
func (q Queries) MeasurementSetsByID(ctx context.Context, shop uuid.UUID, ids []uuid.UUID) ([]MeasurementSet, error) {
	return many[MeasurementSet](ctx, q.db, `
		SELECT `+setColumns+` FROM measurement_sets WHERE shop_id = $1 AND id = ANY ($2)`, shop, ids)
}
