package legacy

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/base64"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
)

// APIKey is a key as it is listed: without the key.
type APIKey = query.APIKey

// A key is written tl_PREFIX_SECRET. The prefix finds its row and tells people
// which key it is; the whole is hashed. The secret is 256 random bits, so one
// SHA-256 protects it as well as a slow hash would.
const keyMark = "tl"

const (
	prefixBytes   = 5 // 8 characters in base32
	secretBytes   = 32
	touchInterval = time.Minute
)

// newKey makes a key, its prefix and its hash.
func newKey() (key, prefix string, hash []byte) {
	random := make([]byte, prefixBytes+secretBytes)
	rand.Read(random) // never fails
	prefix = keyMark + "_" + strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(random[:prefixBytes]))
	key = prefix + "_" + base64.RawURLEncoding.EncodeToString(random[prefixBytes:])
	sum := sha256.Sum256([]byte(key))
	return key, prefix, sum[:]
}

// prefixOf is the part of a key that finds its row.
func prefixOf(key string) (string, bool) {
	parts := strings.SplitN(key, "_", 3)
	if len(parts) != 3 || parts[0] != keyMark || len(parts[1]) != 8 || len(key) > 200 {
		return "", false
	}
	return parts[0] + "_" + parts[1], true
}

// Authenticate finds whose key it is. It fails with CodeUnauthenticated for a
// key that is unknown, revoked or expired, and does not say which.
func (s *Service) Authenticate(ctx context.Context, key string) (Caller, error) {
	refused := refuse(CodeUnauthenticated, "the key is not valid")
	prefix, ok := prefixOf(key)
	if !ok {
		return Caller{}, refused
	}
	row, err := s.store.APIKeyByPrefix(ctx, prefix)
	if errors.Is(err, db.ErrNotFound) {
		return Caller{}, refused
	}
	if err != nil {
		return Caller{}, err
	}
	now := s.now()
	sum := sha256.Sum256([]byte(key))
	switch {
	case subtle.ConstantTimeCompare(sum[:], row.Hash) != 1,
		row.RevokedAt != nil,
		row.ExpiresAt != nil && !now.Before(*row.ExpiresAt):
		return Caller{}, refused
	}
	if row.LastUsedAt == nil || now.Sub(*row.LastUsedAt) >= touchInterval {
		if err := s.store.TouchAPIKey(ctx, query.TouchAPIKeyParams{ID: row.ID, At: now}); err != nil {
			return Caller{}, err
		}
	}
	return Caller{Shop: row.ShopID, Key: row.ID, Role: Role(row.Role)}, nil
}

// NewAPIKey is a key to be made.
type NewAPIKey struct {
	Name      string
	Role      Role
	ExpiresAt *time.Time
}

// CreateAPIKey makes a key for the caller's shop and gives it, this once.
func (s *Service) CreateAPIKey(ctx context.Context, caller Caller, n NewAPIKey) (APIKey, string, error) {
	now := s.now()
	if n.ExpiresAt != nil && !n.ExpiresAt.After(now) {
		return APIKey{}, "", invalid(fault.List{{Code: fault.Range, Field: "/expires_at", Accepted: "a time still to come"}})
	}
	key, prefix, hash := newKey()
	row := APIKey{ID: s.newID(), ShopID: caller.Shop, Name: n.Name, Role: string(n.Role), Prefix: prefix, Hash: hash,
		CreatedBy: actor(caller), CreatedAt: now, ExpiresAt: n.ExpiresAt}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.InsertAPIKey(ctx, query.InsertAPIKeyParams{ID: row.ID, ShopID: row.ShopID, Name: row.Name, Role: row.Role,
			Prefix: row.Prefix, Hash: row.Hash, CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt, ExpiresAt: row.ExpiresAt}); err != nil {
			return err
		}
		return s.audit(ctx, tx, caller, "api_key.created", row.ID, map[string]any{"role": n.Role})
	})
	return row, key, err
}

// APIKeys lists the shop's keys, revoked ones too.
func (s *Service) APIKeys(ctx context.Context, caller Caller) ([]APIKey, error) {
	return s.store.ListAPIKeys(ctx, caller.Shop)
}

// RevokeAPIKey ends a key at once. Revoking twice changes nothing.
func (s *Service) RevokeAPIKey(ctx context.Context, caller Caller, id uuid.UUID) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.RevokeAPIKey(ctx, query.RevokeAPIKeyParams{ShopID: caller.Shop, ID: id, At: s.now()}); err != nil {
			return orNotFound(err, "API key")
		}
		return s.audit(ctx, tx, caller, "api_key.revoked", id, nil)
	})
}

// CreateShop makes a shop; its first key is made with CreateAPIKey by a Caller
// that has no key. Only the command line does this.
func (s *Service) CreateShop(ctx context.Context, slug, name string) (db.Shop, error) {
	linkKey := make([]byte, 32)
	rand.Read(linkKey) // never fails
	shop := db.Shop{ID: s.newID(), Slug: slug, Name: name, LinkKey: linkKey, CreatedAt: s.now()}
	return shop, s.store.InsertShop(ctx, shop)
}
