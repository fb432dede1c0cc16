package db_test

import (
	"encoding/json"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

func TestPlaceOrderWithAllItBrings(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	listens, deaf := b.endpoint("order.received", "order.ready"), b.endpoint("order.ready")
	n := b.order("O-1")
	n.Customer = &db.Customer{ID: newID(), ShopID: b.shop.ID, Reference: new("C-new"), Name: new("Ben"), CreatedAt: noon,
		UpdatedAt: noon}
	n.Set = &db.MeasurementSet{
		ID: newID(), ShopID: b.shop.ID, Unit: "inch", Given: json.RawMessage(`{"hip_girth": 40}`),
		Report: json.RawMessage(`{}`), CreatedAt: noon,
	}
	n.Message = &db.NewMessage{ShopID: b.shop.ID, Type: "order.received", OrderID: &n.Order.ID,
		Body: `{"type":"order.received"}`, At: noon}
	placed, err := b.place(n)
	b.must(err)
	if placed.CustomerID != n.Customer.ID || placed.MeasurementSetID != n.Set.ID || placed.SetVersion != 1 {
		t.Errorf("placed = %+v", placed)
	}
	if len(placed.Messages) != 1 || placed.Messages[0].EndpointID != listens.ID {
		t.Errorf("messages = %+v, want one to %v and none to %v", placed.Messages, listens.ID, deaf.ID)
	}
	o := b.read(n.Order)
	if o.CustomerID != n.Customer.ID || o.Status != "received" || o.Revision != 0 || o.DraftRequest != 1 ||
		!o.CreatedAt.Equal(noon) || *o.CreatedBy != b.key.ID {
		t.Errorf("order = %+v", o)
	}
	events, err := b.store.OrderEvents(ctx, b.shop.ID, o.ID)
	if err != nil || len(events) != 1 || events[0].Event != "received" || events[0].FromStatus != nil ||
		events[0].ToStatus != "received" {
		t.Errorf("history = %+v, %v", events, err)
	}

	// The same person again: the customer is taken by reference, the set is the next version.
	again := b.order("O-2")
	again.Customer = &db.Customer{ID: newID(), ShopID: b.shop.ID, Reference: new("C-new"), CreatedAt: noon,
		UpdatedAt: noon}
	set := *n.Set
	set.ID = newID()
	again.Set = &set
	placed, err = b.place(again)
	b.must(err)
	if placed.CustomerID != n.Customer.ID || placed.SetVersion != 2 {
		t.Errorf("placed again = %+v, want customer %v, version 2", placed, n.Customer.ID)
	}
}

func TestPlaceOrderRefusals(t *testing.T) {
	b := setup(t)
	b.placed("O-1")
	stranger := b.newCustomer("C-2")

	const rows = `SELECT (SELECT count(*) FROM orders) + (SELECT count(*) FROM order_events) +
		(SELECT count(*) FROM measurement_sets)`
	before := b.count(rows)
	for name, tt := range map[string]struct {
		spoil      func(*db.NewOrder)
		constraint string // "": not found
	}{
		"taken reference": {func(n *db.NewOrder) { n.Order.Reference = "O-1" }, "orders_reference_key"},
		"taken reference, with a set": {func(n *db.NewOrder) {
			set := b.set
			set.ID = newID()
			n.Set, n.Order.Reference = &set, "O-1"
		}, "orders_reference_key"},
		"no reference":     {func(n *db.NewOrder) { n.Order.Reference = "" }, "orders_reference"},
		"unknown customer": {func(n *db.NewOrder) { n.Order.CustomerID = newID() }, ""},
		"another shop's customer": {func(n *db.NewOrder) {
			n.Order.ShopID = b.newShop("A", "a").ID
			n.Event.ShopID = n.Order.ShopID
		}, ""},
		"another customer's set": {func(n *db.NewOrder) { n.Order.CustomerID = stranger.ID },
			"orders_measurement_set_fkey"},
		"unknown set": {func(n *db.NewOrder) { n.Order.MeasurementSetID = newID() },
			"orders_measurement_set_fkey"},
		"unknown source":           {func(n *db.NewOrder) { n.Order.Source = "post" }, "orders_source"},
		"ready without a draft":    {func(n *db.NewOrder) { n.Order.Status = "ready" }, "orders_ready_has_draft"},
		"held for no reason":       {func(n *db.NewOrder) { n.Order.Status = "held" }, "orders_held_has_reason"},
		"unknown key in a message": {func(n *db.NewOrder) { n.Event.Event = "" }, "order_events_event"},
	} {
		n := b.order("O-2")
		tt.spoil(&n)
		_, err := b.place(n)
		t.Log(name)
		if tt.constraint == "" {
			b.notFound(err)
		} else {
			b.refused(err, tt.constraint)
		}
	}
	if after := b.count(rows); after != before {
		t.Errorf("%d rows, want %d: something was written in part", after, before)
	}
}

func TestSameOrderPostedAtOnceIsStoredOnce(t *testing.T) {
	b := setup(t)
	var stored, refused atomic.Int64
	var wg sync.WaitGroup
	for range 50 {
		wg.Go(func() {
			_, err := b.place(b.order("O-1"))
			switch {
			case err == nil:
				stored.Add(1)
			case db.Conflicts(err, "orders_reference_key"):
				refused.Add(1)
			default:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if stored.Load() != 1 || refused.Load() != 49 || b.count(`SELECT count(*) FROM orders`) != 1 {
		t.Errorf("stored %d, refused %d, want 1 and 49", stored.Load(), refused.Load())
	}
}

func TestUpdateOrder(t *testing.T) {
	b := setup(t)
	o := b.placed("O-1")
	second := b.newSet(b.customer)
	later := noon.Add(time.Hour)
	o.MeasurementSetID, o.Spec = second.ID, json.RawMessage(`{"block": "sleeve"}`)
	o.Status, o.ReasonCode, o.Faults = "held", new("implausible"), json.RawMessage(`[{"code": "x"}]`)
	o.DraftRequest, o.UpdatedAt = 2, later
	b.must(b.update(o))
	got := b.read(o)
	if got.MeasurementSetID != second.ID || string(got.Spec) != `{"block": "sleeve"}` || got.Status != "held" ||
		*got.ReasonCode != "implausible" ||
		string(got.Faults) != `[{"code": "x"}]` || got.DraftRequest != 2 || !got.UpdatedAt.Equal(later) {
		t.Errorf("order = %+v", got)
	}

	unknownDraft := got
	unknownDraft.Revision = 1
	b.refused(b.update(unknownDraft), "orders_revision_fkey")
	noDraft := got
	noDraft.Status = "ready"
	b.refused(b.update(noDraft), "orders_ready_has_draft")
	noReason := got
	noReason.ReasonCode = nil
	b.refused(b.update(noReason), "orders_held_has_reason")
	elsewhere := got
	elsewhere.ShopID = newID()
	b.notFound(b.update(elsewhere))
}

func TestOrderForUpdateMakesOthersWait(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.placed("O-1")
	var wg sync.WaitGroup
	for range 10 {
		wg.Go(func() {
			err := b.store.InTx(ctx, func(tx *db.Tx) error {
				o, err := tx.OrderForUpdate(ctx, b.shop.ID, o.ID)
				if err != nil {
					return err
				}
				o.DraftRequest++
				return tx.UpdateOrder(ctx, o)
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if got := b.read(o).DraftRequest; got != 11 {
		t.Errorf("draft request %d after ten raises, want 11", got)
	}
	b.must(b.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.OrderForUpdate(ctx, newID(), o.ID)
		b.notFound(err)
		return nil
	}))
}

func TestListOrders(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	one, two, three := b.placed("O-1"), b.ready("O-2"), b.order("O-3")
	three.Order.Spec = json.RawMessage(`{"block": "sleeve"}`)
	three.Order.CreatedAt = noon.Add(time.Hour)
	_, err := b.place(three)
	b.must(err)

	ids := func(orders ...db.Order) (ids []uuid.UUID) {
		for _, o := range orders {
			ids = append(ids, o.ID)
		}
		return ids
	}
	for name, tt := range map[string]struct {
		filter db.OrderFilter
		want   []uuid.UUID
	}{
		"all":       {db.OrderFilter{}, ids(three.Order, two, one)},
		"status":    {db.OrderFilter{Status: "ready"}, ids(two)},
		"reference": {db.OrderFilter{Reference: "O-1"}, ids(one)},
		"customer":  {db.OrderFilter{CustomerID: b.customer.ID}, ids(three.Order, two, one)},
		"stranger":  {db.OrderFilter{CustomerID: newID()}, nil},
		"block":     {db.OrderFilter{Block: "sleeve"}, ids(three.Order)},
		"from":      {db.OrderFilter{CreatedFrom: noon.Add(time.Hour)}, ids(three.Order)},
		"before":    {db.OrderFilter{CreatedBefore: noon.Add(time.Hour)}, ids(two, one)},
		"several":   {db.OrderFilter{Status: "received", Block: "torso", CreatedFrom: noon}, ids(one)},
	} {
		got, err := b.store.Orders(ctx, b.shop.ID, tt.filter, db.Page{Limit: 10})
		b.must(err)
		if !equal(ids(got...), tt.want) {
			t.Errorf("%s: %v, want %v", name, ids(got...), tt.want)
		}
	}
	if page, err := b.store.Orders(ctx, b.shop.ID, db.OrderFilter{}, db.Page{After: two.ID, Limit: 10}); err != nil ||
		!equal(ids(page...), ids(one)) {
		t.Errorf("second page: %v, %v", page, err)
	}
	if others, err := b.store.Orders(ctx, b.newShop("A", "a").ID, db.OrderFilter{}, db.Page{Limit: 10}); err != nil ||
		len(others) != 0 {
		t.Errorf("another shop sees %v, %v", others, err)
	}
}

func TestHistoryCannotBeChanged(t *testing.T) {
	b := setup(t)
	o := b.placed("O-1")
	b.must(b.store.InTx(t.Context(), func(tx *db.Tx) error {
		return tx.AppendEvent(t.Context(), db.OrderEvent{
			ShopID: b.shop.ID, OrderID: o.ID, Event: "held", FromStatus: new("received"), ToStatus: "held",
			ReasonCode: new("asked"), Note: new("She will call back."), At: noon,
		})
	}))
	b.refused(b.exec(`UPDATE order_events SET at = now()`), "order_events_immutable")
	b.refused(b.exec(`DELETE FROM order_events`), "order_events_immutable")
	events, err := b.store.OrderEvents(t.Context(), b.shop.ID, o.ID)
	b.must(err)
	if len(events) != 2 || *events[1].Note != "She will call back." || *events[1].FromStatus != "received" {
		t.Errorf("history = %+v", events)
	}
}
