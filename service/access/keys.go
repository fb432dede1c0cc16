// Package access says who may call: shops, their API keys, and the audit trail
// of what was done with them.
package access

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
	"tapeline/service"
)

// Service has the use cases of access.
type Service struct {
	store *db.Store
	clock service.Clock
}

// New returns the use cases on a store.
func New(store *db.Store, clock service.Clock) *Service { return &Service{store: store, clock: clock} }

// A key is written tl_PREFIX_SECRET. The prefix finds its row and tells people
// which key it is; the whole is hashed. The secret is 256 random bits, so one
// SHA-256 protects it as well as a slow hash would.
const (
	keyMark       = "tl"
	prefixBytes   = 5 // 8 characters in base32
	secretBytes   = 32
	maxKeyLength  = 200
	touchInterval = time.Minute
)

// generateKey returns a new key, its prefix and its hash.
func generateKey() (key, prefix string, hash []byte) {
	random := make([]byte, prefixBytes+secretBytes)
	rand.Read(random) // never fails
	encoding := base32.StdEncoding.WithPadding(base32.NoPadding)
	prefix = keyMark + "_" + strings.ToLower(encoding.EncodeToString(random[:prefixBytes]))
	key = prefix + "_" + base64.RawURLEncoding.EncodeToString(random[prefixBytes:])
	sum := sha256.Sum256([]byte(key))
	return key, prefix, sum[:]
}

// splitPrefix returns the part of a key that finds its row.
func splitPrefix(key string) (string, bool) {
	parts := strings.SplitN(key, "_", 3)
	if len(parts) != 3 || parts[0] != keyMark || len(parts[1]) != 8 || len(key) > maxKeyLength {
		return "", false
	}
	return parts[0] + "_" + parts[1], true
}

// Key is an API key as it is listed: without the key itself.
type Key struct {
	ID         uuid.UUID
	Name       string
	Role       service.Role
	Test       bool     // it makes and sees test orders only
	Origins    []string // of the pages that may use it; nil: it is not for browsers
	Prefix     string   // the readable start of the key
	CreatedAt  time.Time
	ExpiresAt  *time.Time // nil: never
	LastUsedAt *time.Time // nil: never; to the minute
	RevokedAt  *time.Time // nil: not revoked
}

// Expired reports whether the key has expired by a time.
func (k Key) Expired(at time.Time) bool { return k.ExpiresAt != nil && !at.Before(*k.ExpiresAt) }

// validates reports whether a row is that of the key with the hash, and opens
// anything at the time.
func validates(row query.APIKey, hash [sha256.Size]byte, at time.Time) bool {
	return subtle.ConstantTimeCompare(hash[:], row.Hash) == 1 && row.RevokedAt == nil && !toKey(row).Expired(at)
}

// Authenticate returns whose key it is. It fails with CodeUnauthenticated for a
// key that is unknown, revoked or expired, and does not say which.
func (s *Service) Authenticate(ctx context.Context, key string) (service.Caller, error) {
	refused := service.Refuse(service.CodeUnauthenticated, "the key is not valid")
	prefix, ok := splitPrefix(key)
	if !ok {
		return service.Caller{}, refused
	}
	found, err := s.store.APIKeyByPrefix(ctx, prefix)
	if errors.Is(err, db.ErrNotFound) {
		return service.Caller{}, refused
	}
	if err != nil {
		return service.Caller{}, err
	}
	now, row := s.clock.Now(), found.APIKey
	if !validates(row, sha256.Sum256([]byte(key)), now) {
		return service.Caller{}, refused
	}
	if row.LastUsedAt == nil || now.Sub(*row.LastUsedAt) >= touchInterval {
		if err := s.store.TouchAPIKey(ctx, query.TouchAPIKeyParams{ID: row.ID, At: now}); err != nil {
			return service.Caller{}, err
		}
	}
	caller := service.Caller{Shop: row.ShopID, TestShop: service.OrZero(found.TestShop), Key: row.ID,
		Role: service.Role(row.Role), Origins: row.Origins}
	if row.Test {
		caller = caller.OnTests()
	}
	return caller, nil
}

// NewKey describes a key to create.
type NewKey struct {
	Name      string
	Role      service.Role
	Test      bool       // it makes and sees test orders only
	Origins   []string   // of the pages that may use a publishable key
	ExpiresAt *time.Time // nil: never
}

// CreateKey creates a key for the caller's shop and returns it: the only time
// that it can be read.
func (s *Service) CreateKey(ctx context.Context, caller service.Caller, n NewKey) (Key, string, error) {
	now := s.clock.Now()
	origins, faults := normalizeOrigins(n.Role, n.Origins)
	if n.ExpiresAt != nil && !n.ExpiresAt.After(now) {
		faults = append(faults, service.Fault{Code: fault.Range, Field: "/expires_at", Accepted: "a time in the future"})
	}
	if n.Test && n.Role == service.RolePublishable {
		faults = append(faults, service.Fault{Code: fault.Contradiction, Field: "/test", Value: "true",
			Accepted: "false: a publishable key makes no orders", Related: []string{"/role"}})
	}
	if len(faults) > 0 {
		return Key{}, "", service.Invalid(faults)
	}
	key, prefix, hash := generateKey()
	row := query.InsertAPIKeyParams{ID: s.clock.NewID(), ShopID: caller.Shop, Name: n.Name, Role: string(n.Role),
		Test: n.Test, Origins: origins, Prefix: prefix, Hash: hash, CreatedBy: caller.Actor(), CreatedAt: now,
		ExpiresAt: n.ExpiresAt}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if n.Test {
			if err := tx.EnsureTestShop(ctx, s.newTestShop(caller.Shop, now)); err != nil {
				return err
			}
		}
		if err := tx.InsertAPIKey(ctx, row); err != nil {
			return err
		}
		return Record(ctx, tx, caller, Action{Name: "api_key.created", Subject: row.ID,
			Detail: map[string]any{"role": n.Role, "test": n.Test}, At: now})
	})
	created := Key{ID: row.ID, Name: n.Name, Role: n.Role, Test: n.Test, Origins: origins, Prefix: prefix,
		CreatedAt: now, ExpiresAt: n.ExpiresAt}
	return created, key, err
}

// Keys lists the shop's keys, newest first, revoked and expired ones too.
func (s *Service) Keys(ctx context.Context, caller service.Caller) ([]Key, error) {
	rows, err := s.store.ListAPIKeys(ctx, caller.Shop)
	keys := make([]Key, len(rows))
	for i, row := range rows {
		keys[i] = toKey(row)
	}
	return keys, err
}

func toKey(row query.APIKey) Key {
	return Key{ID: row.ID, Name: row.Name, Role: service.Role(row.Role), Test: row.Test, Origins: row.Origins,
		Prefix: row.Prefix, CreatedAt: row.CreatedAt, ExpiresAt: row.ExpiresAt, LastUsedAt: row.LastUsedAt,
		RevokedAt: row.RevokedAt}
}

// RevokeKey ends a key at once. Revoking it again changes nothing.
func (s *Service) RevokeKey(ctx context.Context, caller service.Caller, id uuid.UUID) error {
	now := s.clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.RevokeAPIKey(ctx, query.RevokeAPIKeyParams{ShopID: caller.Shop, ID: id, At: now})
		if err != nil {
			return service.OrNotFound(err, "API key")
		}
		return Record(ctx, tx, caller, Action{Name: "api_key.revoked", Subject: id, At: now})
	})
}
