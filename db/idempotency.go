package db

import (
	"context"
	"errors"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tapeline/db/query"
)

// ClaimKey takes an idempotency key for the rest of the transaction, in one
// round trip. claimed is false while another request with the key is in
// flight. stored is the answer that an earlier request got, nil if there is
// none: the caller then does the work and calls SaveAnswer in this transaction.
//
// The claim is an advisory lock, which ends with the transaction, also when
// the process is killed. Its number is a hash of the key: two keys that share
// one only make each other wait, which is answered with a retry.
func (t *Tx) ClaimKey(
	ctx context.Context, shop uuid.UUID, key string,
) (claimed bool, stored *query.IdempotencyKey, err error) {
	// Two statements, because the second must see what the holder of the lock committed before it
	// let go; one statement would see what was there before it requested the lock. sqlc generates
	// no batch of different statements, and a round trip for each would cost as much as both.
	batch := &pgx.Batch{}
	batch.Queue(`SELECT pg_try_advisory_xact_lock(hashtextextended($1::text || ' ' || $2::text, 0))`, shop.String(), key).
		QueryRow(func(row pgx.Row) error { return row.Scan(&claimed) })
	batch.Queue(`
		SELECT shop_id, key, fingerprint, answer, customer_id, created_at
		FROM idempotency_keys WHERE shop_id = $1 AND key = $2`, shop, key).
		Query(func(rows pgx.Rows) error {
			a, err := pgx.CollectOneRow(rows, pgx.RowToStructByName[query.IdempotencyKey])
			switch {
			case errors.Is(err, pgx.ErrNoRows):
				return nil
			case err != nil:
				return err
			}
			stored = &a
			return nil
		})
	if err := t.db.SendBatch(ctx, batch).Close(); err != nil {
		return false, nil, translate(err)
	}
	return claimed, stored, nil
}
