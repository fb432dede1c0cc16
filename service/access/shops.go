package access

import (
	"context"
	"crypto/rand"
	"errors"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
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

// Reseal seals all secrets with the first key of TAPELINE_SECRET_KEY, and
// returns how many were sealed with another.
func (s *Service) Reseal(ctx context.Context) (int, error) { return s.store.Reseal(ctx) }
