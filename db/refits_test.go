package db_test

import (
	"encoding/json"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

// refit is one that takes all ready orders of the shop.
func (b *bench) refit() db.Refit {
	return db.Refit{ID: newID(), ShopID: b.shop.ID, Status: "previewing", Change: json.RawMessage(`{}`),
		Scope: json.RawMessage(`{}`), Paper: "a4",
		Reason: "tight", CreatedBy: &b.key.ID, CreatedAt: noon}
}

func (b *bench) begun(scope db.RefitScope, size, limit int) (r db.Refit, orders, batches int) {
	b.Helper()
	r = b.refit()
	scope.ShopID = b.shop.ID
	if scope.Statuses == nil {
		scope.Statuses = []string{"ready", "held"}
	}
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) (err error) {
		orders, batches, err = tx.InsertRefit(b.Context(), r, scope, size, limit)
		return err
	}))
	return r, orders, batches
}

// previewed records a finding for every order of a refit.
func (b *bench) previewed(r db.Refit, finding string, orders ...query.ShopOrder) {
	b.Helper()
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) error {
		row, err := tx.LockRefit(b.Context(), r.ID)
		if err != nil {
			return err
		}
		var found []db.RefitFinding
		for _, o := range orders {
			found = append(found, db.RefitFinding{OrderID: o.ID, Finding: finding, BasisRevision: new(1), BasisRequest: new(1),
				Comparison: json.RawMessage(`{"largest": 4}`), Largest: new(4.0)})
		}
		left, err := tx.RecordFindings(b.Context(), r.ID, found, noon)
		if err != nil || left {
			return err
		}
		_, err = tx.UpdateRefit(b.Context(), query.UpdateRefitParams{ID: row.ID, Status: "to_decide", PreviewedAt: new(noon)})
		return err
	}))
}

func (b *bench) decide(r db.Refit, decision string, ids ...uuid.UUID) (chosen int, err error) {
	return chosen, b.store.InTx(b.Context(), func(tx *db.Tx) (err error) {
		if _, err = tx.LockRefit(b.Context(), r.ID); err != nil {
			return err
		}
		chosen, _, err = tx.DecideRefit(b.Context(), r.ID, decision, ids, noon)
		return err
	})
}

func TestRefitTakesItsScope(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	one, two := b.ready("O-1"), b.ready("O-2")
	b.placed("O-waits")
	other := b.newCustomer("C-2")
	for name, tt := range map[string]struct {
		scope db.RefitScope
		want  int
	}{
		"all":              {db.RefitScope{}, 2},
		"block and fit":    {db.RefitScope{Blocks: []string{"torso"}, Fit: new("regular")}, 2},
		"another fit":      {db.RefitScope{Fit: new("close")}, 0},
		"two blocks":       {db.RefitScope{Blocks: []string{"torso", "straight"}}, 0},
		"a style":          {db.RefitScope{Styles: []string{"tabard"}}, 0},
		"a customer":       {db.RefitScope{CustomerID: &b.customer.ID}, 2},
		"another customer": {db.RefitScope{CustomerID: &other.ID}, 0},
		"a set":            {db.RefitScope{Set: &b.set.ID}, 2},
		"not that set":     {db.RefitScope{NotSet: &b.set.ID}, 0},
		"alterations":      {db.RefitScope{Alterations: new(newID())}, 0},
		"not those":        {db.RefitScope{NotAlterations: new(newID())}, 2},
		"since":            {db.RefitScope{CreatedFrom: new(noon)}, 2},
		"before":           {db.RefitScope{CreatedBefore: new(noon)}, 0},
		"named":            {db.RefitScope{Ids: []uuid.UUID{one.ID, newID()}}, 1},
		"held":             {db.RefitScope{Statuses: []string{"held"}}, 0},
	} {
		if _, orders, batches := b.begun(tt.scope, 1, 10); orders != tt.want || batches != tt.want {
			t.Errorf("%s: %d orders in %d batches, want %d", name, orders, batches, tt.want)
		}
	}
	if _, orders, _ := b.begun(db.RefitScope{}, 20, 1); orders != 2 {
		t.Errorf("of more than the limit %d are taken, want one more to tell", orders)
	}
	r, _, _ := b.begun(db.RefitScope{}, 20, 10)
	late := b.ready("O-late")
	arrived, err := b.store.ListRefitScope(ctx, db.RefitScope{ShopID: b.shop.ID, Statuses: []string{"ready"},
		RefitID: &r.ID, UpdatedFrom: new(noon), Limit: 10})
	if err != nil || !same(arrived, late.ID) {
		t.Errorf("arrived since: %v, %v, want %v", arrived, err, late.ID)
	}
	missing, err := b.store.MissingOrders(ctx,
		query.MissingOrdersParams{ShopID: b.shop.ID, Ids: []uuid.UUID{two.ID, uuid.Max}})
	if err != nil || len(missing) != 1 || missing[0] != uuid.Max {
		t.Errorf("missing: %v, %v", missing, err)
	}
	// Another shop sees neither the refit nor its orders.
	stranger := b.newShop("Other", "other")
	_, err = b.store.Refit(ctx, query.RefitParams{ShopID: stranger.ID, ID: r.ID})
	b.notFound(err)
	_, err = b.store.RefitOrder(ctx,
		query.RefitOrderParams{ShopID: stranger.ID, RefitID: r.ID, OrderID: one.ID})
	b.notFound(err)
}

// The schema keeps the orders of a refit from going back, whoever writes.
func TestRefitOrderIsSettledOnce(t *testing.T) {
	b := setup(t)
	o := b.ready("O-1")
	r, _, _ := b.begun(db.RefitScope{}, 20, 10)
	b.previewed(r, "changes", o)
	b.refused(b.exec(`UPDATE refit_orders SET finding = 'unchanged' WHERE refit_id = $1`, r.ID), "refit_orders_once")
	b.refused(b.exec(`UPDATE refit_orders SET outcome = 'revised', revision = 1, settled_at = $2 WHERE refit_id = $1`,
		r.ID, noon), "refit_orders_once")
	chosen, err := b.decide(r, "all")
	if err != nil || chosen != 1 {
		t.Fatalf("chosen %d, %v", chosen, err)
	}
	b.must(b.exec(`UPDATE refit_orders SET outcome = 'left_alone', settled_at = $2 WHERE refit_id = $1`, r.ID, noon))
	b.refused(b.exec(`UPDATE refit_orders SET outcome = 'declined' WHERE refit_id = $1`, r.ID), "refit_orders_once")
	b.refused(b.exec(`UPDATE refits SET status = 'stopped' WHERE id = $1`, r.ID), "refits_ended")
}

// Of decisions at once on one order one goes through.
func TestOneRefitAppliesAnOrder(t *testing.T) {
	b := setup(t)
	o := b.ready("O-1")
	var refits []db.Refit
	for range 6 {
		r, _, _ := b.begun(db.RefitScope{}, 20, 10)
		b.previewed(r, "changes", o)
		refits = append(refits, r)
	}
	var through atomic.Int64
	var wg sync.WaitGroup
	for _, r := range refits {
		wg.Go(func() {
			_, err := b.decide(r, "some", o.ID)
			if err == nil {
				through.Add(1)
			} else if !db.Conflicts(err, "refit_orders_chosen") {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if through.Load() != 1 {
		t.Errorf("%d of 6 decisions went through", through.Load())
	}
	seen := 0
	for _, r := range refits {
		others, err := b.store.RefitContenders(t.Context(), query.RefitContendersParams{RefitID: r.ID})
		b.must(err)
		if len(others) > 0 {
			seen++
		}
	}
	if seen != 5 {
		t.Errorf("%d refits see the one that applies, want 5", seen)
	}
}

// revised is the second draft of a ready order, made for a refit.
func (b *bench) revised(r db.Refit, o query.ShopOrder) query.ReviseOrdersParams {
	return query.ReviseOrdersParams{RefitID: r.ID, OrderID: o.ID, Status: "ready", Request: 1, Number: 2, Parent: new(1),
		MeasurementSetID: b.set.ID, Engine: "1.0.1",
		Spec:   json.RawMessage(`{"fit": "regular", "unit": "cm", "block": "torso", "ease": {"bust_girth": 9}}`),
		Checks: json.RawMessage(`[]`), Label: json.RawMessage(`{}`), Document: []byte(`{"pieces":[1]}`), Reason: "tight",
		CreatedBy: &b.key.ID, MessageType: "order.revised", MessageBody: `{}`, At: noon}
}

// An order that became another meanwhile is not found, and nothing of it is
// written.
func TestApplyRefitLosesARace(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	b.endpoint("order.revised")
	o := b.ready("O-1")
	r, _, _ := b.begun(db.RefitScope{}, 20, 10)
	b.previewed(r, "changes", o)
	_, err := b.decide(r, "all")
	b.must(err)
	for name, change := range map[string]func(*query.ReviseOrdersParams){
		"status":  func(p *query.ReviseOrdersParams) { p.Status = "held" },
		"request": func(p *query.ReviseOrdersParams) { p.Request = 2 },
	} {
		lost := b.revised(r, o)
		change(&lost)
		b.must(b.store.InTx(ctx, func(tx *db.Tx) error {
			_, err := tx.ApplyRefit(ctx, r.ID, db.RefitOutcomes{Revised: []query.ReviseOrdersParams{lost}})
			if !errors.Is(err, db.ErrNotFound) {
				t.Errorf("another %s: %v, want not found", name, err)
			}
			return nil // committed: nothing must have been written
		}))
		heads, err := b.heads(o.ID)
		events, failed := b.history(o.ID)
		if now := b.read(o); errors.Join(err, failed) != nil || now.Revision != 1 || len(heads) != 1 ||
			events[len(events)-1].Event == "revised" {
			t.Errorf("another %s: order %+v with %d drafts", name, now, len(heads))
		}
	}
}

func TestApplyRefit(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	b.endpoint("order.revised")
	o, other := b.ready("O-1"), b.ready("O-2")
	r, _, _ := b.begun(db.RefitScope{}, 20, 10)
	b.previewed(r, "changes", o, other)
	_, err := b.decide(r, "all")
	b.must(err)
	inputs, err := b.store.RefitInputs(ctx, r.ID, 0, true)
	if err != nil || len(inputs) != 2 || string(inputs[0].Document) != `{"pieces":[]}` || *inputs[0].Engine != "1.0.0" ||
		inputs[0].LastNumber != 1 || *inputs[0].BasisRequest != 1 {
		t.Fatalf("inputs %+v, %v", inputs, err)
	}
	var left bool
	b.must(b.store.InTx(ctx, func(tx *db.Tx) (err error) {
		locked, err := tx.LockOrders(ctx, []uuid.UUID{o.ID, other.ID})
		if err != nil || locked[o.ID].Revision != 1 || locked[o.ID].LastRefit != nil {
			t.Errorf("locked %+v, %v", locked, err)
		}
		left, err = tx.ApplyRefit(ctx, r.ID, db.RefitOutcomes{
			Revised: []query.ReviseOrdersParams{b.revised(r, o)},
			Settled: []query.SettleRefitOrdersParams{{RefitID: r.ID, OrderID: other.ID, Outcome: "left_alone",
				ReasonCode: new("order_changed"), At: noon}},
		})
		return err
	}))
	if messages := b.queued(); len(messages) != 1 || left {
		t.Errorf("messages %+v, left %v", messages, left)
	}
	if now := b.read(o); now.Revision != 2 || now.DraftRequest != 2 || now.Status != "ready" {
		t.Errorf("order %+v", now)
	}
	heads, err := b.heads(o.ID)
	if err != nil || len(heads) != 2 || *heads[0].Parent != 1 || *heads[0].RefitID != r.ID ||
		*heads[0].Reason != "tight" || *heads[0].CreatedBy != b.key.ID {
		t.Errorf("drafts %+v, %v", heads, err)
	}
	events, err := b.history(o.ID)
	if last := events[len(events)-1]; err != nil || last.Event != "revised" || *last.RefitID != r.ID ||
		*last.Revision != 2 || *last.Reason != "tight" {
		t.Errorf("history %+v, %v", events, err)
	}
	given, err := b.store.RefitOrder(ctx,
		query.RefitOrderParams{ShopID: b.shop.ID, RefitID: r.ID, OrderID: o.ID})
	row := given.RefitOrder
	if err != nil || *row.Outcome != "revised" || *row.Revision != 2 {
		t.Errorf("outcome %+v, %v", row, err)
	}
	f, err := b.store.RefitFigures(ctx, r.ID, noon.Add(-time.Second), []float64{1, 4, 10})
	if err != nil || f.Findings["changes"] != 2 || f.Outcomes["revised"] != 1 || f.Applied != 2 || f.Settled != 2 ||
		f.Previews != 2 || *f.Moves != (db.RefitMoves{Median: 4, P90: 4, Largest: 4}) || f.Counts[2] != 2 {
		t.Errorf("figures %+v, %v", f, err)
	}

	// A person's erasure takes the comparisons, and one that comes later is not stored.
	late, _, _ := b.begun(db.RefitScope{}, 20, 10)
	_, err = b.erase(b.customer.ID)
	b.must(err)
	b.previewed(late, "changes", o, other)
	if n := b.count(`SELECT count(*) FROM refit_orders WHERE comparison IS NOT NULL OR faults IS NOT NULL`); n != 0 {
		t.Errorf("%d comparisons after the erasure", n)
	}
}
