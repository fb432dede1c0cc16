package db_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// alter stores a version of the customer's alterations.
func (b *bench) alter(given string, at time.Time) query.InsertAlterationsParams {
	b.Helper()
	a := query.InsertAlterationsParams{ID: newID(), ShopID: b.shop.ID, CustomerID: b.customer.ID, Unit: "cm",
		Given:  json.RawMessage(given),
		Reason: new("first fitting"), CreatedBy: &b.key.ID, CreatedAt: at}
	_, err := b.store.InsertAlterations(b.Context(), a)
	b.must(err)
	return a
}

func TestAlterations(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	theirs := query.LatestAlterationsParams{ShopID: b.shop.ID, CustomerID: b.customer.ID}
	_, err := b.store.LatestAlterations(ctx, theirs)
	b.notFound(err)
	first, second := b.alter(`{"sway_back": 1.20}`, noon), b.alter(`{}`, noon)
	got, err := b.store.AlterationSet(ctx, query.AlterationSetParams{ShopID: b.shop.ID, ID: first.ID})
	b.must(err)
	if got.Version != 1 || string(got.Given) != `{"sway_back": 1.20}` || *got.Reason != "first fitting" ||
		*got.CreatedBy != b.key.ID {
		t.Errorf("Alterations = %+v, given %s: want them as given, to the last digit", got, got.Given)
	}
	_, err = b.store.AlterationSet(ctx, query.AlterationSetParams{ShopID: newID(), ID: first.ID})
	b.notFound(err)
	latest, err := b.store.LatestAlterations(ctx, theirs)
	b.must(err)
	list, err := b.store.AlterationSets(ctx, query.AlterationSetsParams{
		ShopID: b.shop.ID, CustomerID: b.customer.ID, Below: uuid.Max, Limit: 10,
	})
	b.must(err)
	if latest.ID != second.ID || latest.Version != 2 || len(list) != 2 || list[0].ID != second.ID {
		t.Errorf("latest %+v of %+v", latest, list)
	}

	b.refused(b.exec(`UPDATE alterations SET given = '{}' WHERE id = $1`, first.ID), "alterations_immutable")
	b.refused(b.exec(`DELETE FROM alterations WHERE id = $1`, first.ID), "alterations_immutable")
	b.refused(b.exec(`UPDATE alterations SET erased_at = now() WHERE id = $1`, first.ID), "alterations_erased")
	bad := first
	bad.ID, bad.Unit = newID(), "ell"
	_, err = b.store.InsertAlterations(ctx, bad)
	b.refused(err, "alterations_unit")
	bad.Unit, bad.CustomerID = "cm", newID()
	_, err = b.store.InsertAlterations(ctx, bad)
	b.notFound(err)
	bad.CustomerID, bad.ShopID = b.customer.ID, b.newShop("Another", "another").ID
	_, err = b.store.InsertAlterations(ctx, bad)
	b.notFound(err)
}

// A draft says which version it was made with, and the order which one its
// present draft was.
func TestDraftRemembersItsAlterations(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.placed("LL-1")
	in, err := b.store.DraftInput(ctx, o.ID)
	b.must(err)
	if in.BasisAlterations != nil {
		t.Errorf("alterations %v of a customer without alterations", in.BasisAlterations)
	}
	b.alter(`{"sway_back": 1}`, noon)
	latest := b.alter(`{"sway_back": 2}`, noon)
	in, err = b.store.DraftInput(ctx, o.ID)
	b.must(err)
	if in.BasisAlterations == nil || *in.BasisAlterations != latest.ID || !strings.Contains(string(in.Basis),
		`"altered_unit": "cm", "alterations": {"sway_back": 2}`) &&
		!strings.Contains(string(in.Basis), `"alterations": {"sway_back": 2}`) {
		t.Fatalf("alterations %v in %s, want the latest", in.BasisAlterations, in.Basis)
	}
	s := settled(o, 1, []byte(`{}`))
	s.AlterationsID = in.BasisAlterations
	if applied, err := b.settle(s); err != nil || !applied {
		t.Fatalf("settle: %v, %v", applied, err)
	}
	head, err := b.store.DraftHead(ctx, headOf(o.ShopID, o.ID, 1))
	b.must(err)
	if got := b.read(o).AlterationsID; got == nil || *got != latest.ID || *head.DraftHead.AlterationsID != latest.ID {
		t.Errorf("order with %v, draft with %v, want %v", got, head.DraftHead.AlterationsID, latest.ID)
	}
}

// A new fitting counts as care for a customer.
func TestAlterationsKeepACustomer(t *testing.T) {
	b := setup(t)
	days := 30
	b.must(b.retain(b.shop.ID, days))
	later := noon.Add(31 * 24 * time.Hour)
	if stale := b.stale(later); len(stale) != 1 {
		t.Fatalf("stale: %v", stale)
	}
	b.alter(`{}`, later.Add(-time.Hour))
	if stale := b.stale(later); len(stale) != 0 {
		t.Errorf("stale after a fitting: %v", stale)
	}
}
