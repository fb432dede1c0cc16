package db

import (
	"context"
	"time"

	"github.com/google/uuid"
)

// APIKey is a key that opens a shop's data. The key itself is not kept.
type APIKey struct {
	ID         uuid.UUID
	ShopID     uuid.UUID
	Name       string
	Role       string // shop, staff or admin
	Prefix     string // the readable start, unique
	Hash       []byte // SHA-256 of the key
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	ExpiresAt  *time.Time
	LastUsedAt *time.Time
	RevokedAt  *time.Time
}

const keyColumns = `id, shop_id, name, role, prefix, hash, created_by, created_at, expires_at, last_used_at, revoked_at`

// InsertAPIKey conflicts with api_keys_prefix_key where the prefix is taken.
func (q Queries) InsertAPIKey(ctx context.Context, k APIKey) error {
	_, err := exec(ctx, q.db, `
		INSERT INTO api_keys (id, shop_id, name, role, prefix, hash, created_by, created_at, expires_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		k.ID, k.ShopID, k.Name, k.Role, k.Prefix, k.Hash, k.CreatedBy, k.CreatedAt, k.ExpiresAt)
	return err
}

// APIKeyByPrefix finds a key, revoked and expired ones too.
func (q Queries) APIKeyByPrefix(ctx context.Context, prefix string) (APIKey, error) {
	return one[APIKey](ctx, q.db, `SELECT `+keyColumns+` FROM api_keys WHERE prefix = $1`, prefix)
}

// APIKeys lists a shop's, newest first, revoked and expired ones too.
func (q Queries) APIKeys(ctx context.Context, shop uuid.UUID) ([]APIKey, error) {
	return many[APIKey](ctx, q.db, `SELECT `+keyColumns+` FROM api_keys WHERE shop_id = $1 ORDER BY id DESC`, shop)
}

// RevokeAPIKey ends a key; one that was revoked before keeps its time.
func (q Queries) RevokeAPIKey(ctx context.Context, shop, id uuid.UUID, at time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE api_keys SET revoked_at = coalesce(revoked_at, $3) WHERE shop_id = $1 AND id = $2`, shop, id, at)
}

// TouchAPIKey notes that a key was used. A note less than a minute old is left,
// so that a busy key costs no write for each request.
func (q Queries) TouchAPIKey(ctx context.Context, id uuid.UUID, at time.Time) error {
	_, err := exec(ctx, q.db, `
		UPDATE api_keys SET last_used_at = $2
		WHERE id = $1 AND (last_used_at IS NULL OR last_used_at < $2::timestamptz - interval '1 minute')`, id, at)
	return err
}
