package db

import "context"

// Translate is the border between pgx's errors and ours, for tests that run
// SQL of their own.
var Translate = translate

// EnsureCustomer runs the statement with which PlaceOrder begins and returns the
// customer's row.
func (q Queries) EnsureCustomer(ctx context.Context, c Customer) (Customer, error) {
	return one[Customer](ctx, q.db, ensureCustomer+" RETURNING *",
		c.ID, c.ShopID, c.Reference, c.Name, c.CreatedAt, c.UpdatedAt)
}
