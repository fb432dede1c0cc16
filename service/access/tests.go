package access

import (
	"context"
	"crypto/rand"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/service"
)

// testRetentionDays is for how many days after their last order the customers of test
// orders are kept.
const testRetentionDays = 7

// newTestShop returns the row of a shop's test shop. No shop of an operator has its
// slug, because theirs have no two hyphens in a row.
func (s *Service) newTestShop(shop uuid.UUID, now time.Time) query.EnsureTestShopParams {
	key, days := make([]byte, 32), testRetentionDays
	rand.Read(key) // never fails
	id := s.clock.NewID()
	return query.EnsureTestShopParams{ID: id, Slug: "test--" + id.String(), LinkKey: key, RetentionDays: &days,
		TestOf: shop, CreatedAt: now}
}

// SeesTest reports whether an order or customer is not the shop's own but one that a
// test key made, which the caller may read.
func (s *Service) SeesTest(ctx context.Context, caller service.Caller, id uuid.UUID) (bool, error) {
	if caller.TestShop == uuid.Nil {
		return false, nil
	}
	return s.store.HasRecord(ctx, query.HasRecordParams{ShopID: caller.TestShop, ID: id})
}
