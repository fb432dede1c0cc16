package db_test

import (
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

func TestCustomers(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	other := b.newShop("Another", "another")

	c, err := b.getCustomer(b.shop.ID, b.customer.ID)
	b.must(err)
	if *c.Name != "Ada Example" || *c.Reference != "C-1" || !c.CreatedAt.Equal(noon) {
		t.Errorf("Customer = %+v", c)
	}
	_, err = b.getCustomer(other.ID, b.customer.ID)
	b.notFound(err)

	later := noon.Add(time.Hour)
	c.Name, c.Reference, c.UpdatedAt = nil, new("C-1a"), later
	update := func(c query.Customer) error {
		_, err := b.store.UpdateCustomer(ctx, query.UpdateCustomerParams{
			ShopID: c.ShopID, ID: c.ID, Reference: c.Reference, Name: c.Name, UpdatedAt: c.UpdatedAt,
		})
		return err
	}
	b.must(update(c))
	if c, err = b.getCustomer(b.shop.ID, b.customer.ID); err != nil || c.Name != nil || *c.Reference != "C-1a" ||
		!c.UpdatedAt.Equal(later) {
		t.Errorf("after UpdateCustomer: %+v, %v", c, err)
	}
	c.ShopID = other.ID
	b.notFound(update(c))

	b.newCustomer("C-2")
	twin := query.Customer{ID: newID(), ShopID: b.shop.ID, Reference: new("C-2"), CreatedAt: noon, UpdatedAt: noon}
	b.refused(b.insertCustomer(twin), "customers_reference_key")
	twin.ShopID = other.ID // another shop's references are its own
	b.must(b.insertCustomer(twin))
	for range 2 { // any number without a reference
		b.must(b.insertCustomer(query.Customer{ID: newID(), ShopID: other.ID, CreatedAt: noon, UpdatedAt: noon}))
	}
	twin.ID, twin.Reference = newID(), new("")
	b.refused(b.insertCustomer(twin), "customers_reference")
}

func TestEnsureCustomer(t *testing.T) {
	b := setup(t)
	later := noon.Add(time.Hour)
	for i, tt := range []struct {
		name      string
		reference *string
		given     *string
		same      bool
		wantName  string
		wantTime  time.Time
	}{
		{"known, same name", new("C-1"), new("Ada Example"), true, "Ada Example", noon},
		{"known, no name", new("C-1"), nil, true, "Ada Example", noon},
		{"known, new name", new("C-1"), new("Ada Sample"), true, "Ada Sample", later},
		{"unknown", new("C-9"), new("Ben"), false, "Ben", later},
		{"none", nil, new("Cy"), false, "Cy", later},
		{"none again", nil, new("Cy"), false, "Cy", later},
	} {
		n := b.order(fmt.Sprint("O-", i))
		n.EnsureCustomer, n.CustomerID, n.MeasurementSetID = true, newID(), newID()
		n.CustomerReference, n.CustomerName, n.At = tt.reference, tt.given, later
		n.Unit, n.Given, n.Report = new("cm"), b.set.Given, b.set.Report
		placed, err := b.place(n)
		b.must(err)
		got, err := b.getCustomer(b.shop.ID, placed.CustomerID)
		b.must(err)
		if same := got.ID == b.customer.ID; same != tt.same {
			t.Errorf("%s: the known customer %v, want %v", tt.name, same, tt.same)
		}
		if *got.Name != tt.wantName || !got.UpdatedAt.Equal(tt.wantTime) {
			t.Errorf("%s: %q updated %v, want %q, %v", tt.name, *got.Name, got.UpdatedAt, tt.wantName, tt.wantTime)
		}
	}
}

func TestPages(t *testing.T) {
	b := setup(t)
	want := []uuid.UUID{b.customer.ID}
	for _, r := range []string{"C-2", "C-3", "C-4", "C-5"} {
		want = append([]uuid.UUID{b.newCustomer(r).ID}, want...)
	}
	var got []uuid.UUID
	page := query.ListCustomersParams{ShopID: b.shop.ID, Below: uuid.Max, Limit: 2}
	for range 4 {
		rows, err := b.store.ListCustomers(t.Context(), page)
		b.must(err)
		for _, c := range rows {
			got = append(got, c.ID)
		}
		if len(rows) < page.Limit {
			break
		}
		page.Below = rows[len(rows)-1].ID
		b.newCustomer("new " + page.Below.String()) // must not shift the pages
	}
	if len(got) != len(want) {
		t.Fatalf("paged through %d customers, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("customer %d is %v, want %v", i, got[i], want[i])
		}
	}
	found, err := b.store.ListCustomers(t.Context(), query.ListCustomersParams{
		ShopID: b.shop.ID, Below: uuid.Max, Reference: new("C-3"), Limit: 10,
	})
	if err != nil || len(found) != 1 || found[0].ID != want[2] {
		t.Errorf("by reference: %v, %v", found, err)
	}
}

func TestMeasurementSets(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	got, err := b.store.MeasurementSet(ctx, query.MeasurementSetParams{ShopID: b.shop.ID, ID: b.set.ID})
	b.must(err)
	if got.Version != 1 || string(got.Given) != `{"bust_girth": 92.50}` || *got.CreatedBy != b.key.ID {
		t.Errorf("MeasurementSet = %+v, given %s: want it as given, to the last digit", got, got.Given)
	}
	_, err = b.store.MeasurementSet(ctx, query.MeasurementSetParams{ShopID: newID(), ID: b.set.ID})
	b.notFound(err)

	second := b.newSet(b.customer)
	sets, err := b.store.MeasurementSets(ctx, query.MeasurementSetsParams{
		ShopID: b.shop.ID, CustomerID: b.customer.ID, Below: uuid.Max, Limit: 10,
	})
	b.must(err)
	if len(sets) != 2 || sets[0].ID != second.ID || sets[0].Version != 2 {
		t.Errorf("MeasurementSets = %+v", sets)
	}

	b.refused(b.exec(`UPDATE measurement_sets SET given = '{}' WHERE id = $1`, b.set.ID), "measurement_sets_immutable")
	b.refused(b.exec(`UPDATE measurement_sets SET unit = 'inch', erased_at = now(), given = NULL, report = NULL
		WHERE id = $1`,
		b.set.ID), "measurement_sets_immutable")
	b.refused(b.exec(`DELETE FROM measurement_sets WHERE id = $1`, b.set.ID), "measurement_sets_immutable")
	b.refused(b.exec(`UPDATE measurement_sets SET erased_at = now() WHERE id = $1`, b.set.ID), "measurement_sets_erased")

	bad := b.set
	bad.ID, bad.Unit = newID(), "ell"
	_, err = b.insertSet(bad)
	b.refused(err, "measurement_sets_unit")
	bad.Unit, bad.CustomerID = "cm", newID()
	_, err = b.insertSet(bad)
	b.notFound(err)
	bad.CustomerID, bad.ShopID = b.customer.ID, b.newShop("Another", "another").ID
	_, err = b.insertSet(bad)
	b.notFound(err)
}

func TestSetsAtOnceGetVersionsInTurn(t *testing.T) {
	b := setup(t)
	const n = 20
	versions := make([]int, n)
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() {
			s := b.set
			s.ID = newID()
			s.Given = json.RawMessage(`{}`)
			var err error
			if versions[i], err = b.insertSet(s); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	seen := map[int]bool{}
	for _, v := range versions {
		seen[v] = true
	}
	for v := 2; v <= n+1; v++ {
		if !seen[v] {
			t.Errorf("version %d is missing: %v", v, versions)
		}
	}
}
