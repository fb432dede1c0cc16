package access

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// Shop is a tenant: every other record belongs to one.
type Shop struct {
	ID            uuid.UUID
	Slug          string // its name for machines, unique
	Name          string
	RetentionDays *int // days that a customer is kept after their last order; nil: until erased
	CreatedAt     time.Time
}

// EnsureShop returns the shop with a slug, and creates it with the name if
// there is none. Only the operator's command line does this.
func (s *Service) EnsureShop(ctx context.Context, slug, name string) (shop Shop, created bool, err error) {
	shop, err = s.Shop(ctx, slug)
	if e, ok := errors.AsType[*service.Error](err); !ok || e.Code != service.CodeNotFound {
		return shop, false, err
	}
	key := make([]byte, 32)
	rand.Read(key) // never fails
	shop = Shop{ID: s.clock.NewID(), Slug: slug, Name: name, CreatedAt: s.clock.Now()}
	err = s.store.InsertShop(ctx, query.InsertShopParams{ID: shop.ID, Slug: slug, Name: name, LinkKey: key,
		CreatedAt: shop.CreatedAt})
	if db.Conflicts(err, "shops_slug_key") { // created meanwhile
		shop, err = s.Shop(ctx, slug)
		return shop, false, err
	}
	return shop, err == nil, err
}

// Shop returns the shop with a slug. It fails with CodeNotFound.
func (s *Service) Shop(ctx context.Context, slug string) (Shop, error) {
	row, err := s.store.ShopBySlug(ctx, slug)
	return Shop(row), service.OrNotFound(err, "shop")
}

// Shops lists all shops by slug.
func (s *Service) Shops(ctx context.Context) ([]Shop, error) {
	rows, err := s.store.Shops(ctx)
	shops := make([]Shop, len(rows))
	for i, row := range rows {
		shops[i] = Shop(row)
	}
	return shops, err
}

// MaxRetentionDays is the longest time for which customers can be kept after their
// last order, unless they are kept until they are erased.
const MaxRetentionDays = 3650

// Retention returns for how many days after their last order the customers of the
// caller's shop are kept; nil keeps them until they are erased.
func (s *Service) Retention(ctx context.Context, caller service.Caller) (*int, error) {
	days, err := s.store.Retention(ctx, caller.Shop)
	return days, service.OrNotFound(err, "shop")
}

// KeepCustomers sets for how many days after their last order the customers of the
// caller's shop are kept; nil keeps them until they are erased. It fails with
// CodeInvalidInput.
func (s *Service) KeepCustomers(ctx context.Context, caller service.Caller, days *int) error {
	if days != nil && (*days < 1 || *days > MaxRetentionDays) {
		return service.Invalid(service.Faults{{Code: fault.Range, Field: "/days", Value: strconv.Itoa(*days),
			Accepted: fmt.Sprintf("1 to %d days", MaxRetentionDays)}})
	}
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.SetRetention(ctx, query.SetRetentionParams{ID: caller.Shop, Days: days}); err != nil {
			return service.OrNotFound(err, "shop")
		}
		return Record(ctx, tx, caller, Action{Name: "shop.retention_set", Subject: caller.Shop, At: s.clock.Now(),
			Detail: map[string]any{"days": days}})
	})
}

// Reseal seals all secrets with the first key of TAPELINE_SECRET_KEY, and
// returns how many were sealed with another.
func (s *Service) Reseal(ctx context.Context) (int, error) { return s.store.Reseal(ctx) }
