package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Alterations are what fittings found for a customer, as kept from one time
// on. They never change; others are another version, and the latest applies.
// Erasure empties Given and Note.
type Alterations struct {
	ID         uuid.UUID
	ShopID     uuid.UUID
	CustomerID uuid.UUID
	Version    int    // given by the database: 1, 2, ... for each customer
	Unit       string // cm or inch
	Given      json.RawMessage
	Note       *string `db:"reason"` // why, in a person's own words
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	ErasedAt   *time.Time
}

const alterationsColumns = `id, shop_id, customer_id, version, unit, given, reason, created_by, created_at, erased_at`

// InsertAlterations stores another version and gives its number. ErrNotFound
// says that the shop has no such customer, or none any more.
func (q Queries) InsertAlterations(ctx context.Context, a Alterations) (version int, err error) {
	// Counting on the customer's row makes two versions at once wait for each other.
	err = q.db.QueryRow(ctx, `
		WITH owner AS (
			UPDATE customers SET alterations = alterations + 1
			WHERE shop_id = @shop AND id = @customer AND erased_at IS NULL
			RETURNING id, alterations
		)
		INSERT INTO alterations (id, shop_id, customer_id, version, unit, given, reason, created_by, created_at)
		SELECT @id, @shop, owner.id, owner.alterations, @unit, @given, @note, @by, @at
		FROM owner
		RETURNING version`,
		pgx.StrictNamedArgs{
			"id": a.ID, "shop": a.ShopID, "customer": a.CustomerID, "unit": a.Unit, "given": a.Given, "note": a.Note,
			"by": a.CreatedBy, "at": a.CreatedAt,
		}).Scan(&version)
	return version, translate(err)
}

// Alterations reads a version.
func (q Queries) Alterations(ctx context.Context, shop, id uuid.UUID) (Alterations, error) {
	return one[Alterations](ctx, q.db, `
		SELECT `+alterationsColumns+` FROM alterations WHERE shop_id = $1 AND id = $2`, shop, id)
}

// LatestAlterations reads the version that applies. ErrNotFound says that none
// was ever kept.
func (q Queries) LatestAlterations(ctx context.Context, shop, customer uuid.UUID) (Alterations, error) {
	return one[Alterations](ctx, q.db, `
		SELECT `+alterationsColumns+` FROM alterations
		WHERE shop_id = $1 AND customer_id = $2 ORDER BY version DESC LIMIT 1`, shop, customer)
}

// CustomerAlterations lists a customer's versions, newest first.
func (q Queries) CustomerAlterations(ctx context.Context, shop, customer uuid.UUID, page Page) ([]Alterations, error) {
	return many[Alterations](ctx, q.db, `
		SELECT `+alterationsColumns+` FROM alterations
		WHERE shop_id = $1 AND customer_id = $2 AND id < $3
		ORDER BY id DESC LIMIT $4`, shop, customer, page.start(), page.Limit)
}
