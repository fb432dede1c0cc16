package db_test

import (
	"encoding/json"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

func TestPlaceOrderWithAllItBrings(t *testing.T) {
	b := setup(t)
	listens, deaf := b.endpoint("order.received", "order.ready"), b.endpoint("order.ready")
	n := b.order("O-1")
	n.EnsureCustomer = true
	n.CustomerID, n.CustomerReference, n.CustomerName = newID(), new("C-new"), new("Ben")
	n.MeasurementSetID, n.Unit = newID(), new("inch")
	n.Given, n.Report = json.RawMessage(`{"hip_girth": 40}`), json.RawMessage(`{}`)
	n.MessageType, n.MessageBody = new("order.received"), new(`{"type":"order.received"}`)
	placed, err := b.place(n)
	b.must(err)
	if m := b.queued(); len(m) != 1 || m[0].EndpointID != listens.ID {
		t.Errorf("queued %+v, want a message to %v and none to %v", m, listens.ID, deaf.ID)
	}
	if placed.CustomerID != n.CustomerID || placed.CustomerSets != 1 {
		t.Errorf("placed = %+v", placed)
	}
	o := b.stored(n.ID)
	if o.CustomerID != n.CustomerID || o.Status != "received" || o.Revision != 0 || o.DraftRequest != 1 ||
		!o.CreatedAt.Equal(noon) || *o.CreatedBy != b.key.ID {
		t.Errorf("order = %+v", o)
	}
	events, err := b.history(o.ID)
	if err != nil || len(events) != 1 || events[0].Event != "received" || events[0].FromStatus != nil ||
		events[0].ToStatus != "received" {
		t.Errorf("history = %+v, %v", events, err)
	}

	// The same person again: the customer is taken by reference, the set is the next version.
	again := n
	again.ID, again.Reference, again.CustomerID, again.CustomerName, again.MeasurementSetID = newID(), "O-2", newID(), nil,
		newID()
	placed, err = b.place(again)
	b.must(err)
	if placed.CustomerID != n.CustomerID || placed.CustomerSets != 2 {
		t.Errorf("placed again = %+v, want customer %v, version 2", placed, n.CustomerID)
	}
	// A stored customer with new measurements.
	third := b.order("O-3")
	third.CustomerID, third.MeasurementSetID = n.CustomerID, newID()
	third.Unit, third.Given, third.Report = n.Unit, n.Given, n.Report
	placed, err = b.place(third)
	b.must(err)
	if placed.CustomerSets != 3 ||
		b.stored(third.ID).MeasurementSetID != third.MeasurementSetID {
		t.Errorf("placed with a stored customer = %+v", placed)
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
		spoil      func(*query.PlaceOrderParams)
		constraint string // "": not found
	}{
		"taken reference": {func(n *query.PlaceOrderParams) { n.Reference = "O-1" }, "orders_reference_key"},
		"taken reference, with a set": {func(n *query.PlaceOrderParams) {
			n.MeasurementSetID, n.Unit, n.Given, n.Report = newID(), new("cm"), b.set.Given, b.set.Report
			n.Reference = "O-1"
		}, "orders_reference_key"},
		"no reference":     {func(n *query.PlaceOrderParams) { n.Reference = "" }, "orders_reference"},
		"unknown customer": {func(n *query.PlaceOrderParams) { n.CustomerID = newID() }, ""},
		"another shop's customer": {func(n *query.PlaceOrderParams) {
			n.ShopID = b.newShop("A", "a").ID
		}, ""},
		"another customer's set": {func(n *query.PlaceOrderParams) { n.CustomerID = stranger.ID },
			"orders_measurement_set_fkey"},
		"unknown set": {func(n *query.PlaceOrderParams) { n.MeasurementSetID = newID() },
			"orders_measurement_set_fkey"},
		"unknown source":           {func(n *query.PlaceOrderParams) { n.Source = "post" }, "orders_source"},
		"ready without a draft":    {func(n *query.PlaceOrderParams) { n.Status = "ready" }, "orders_ready_has_draft"},
		"held for no reason":       {func(n *query.PlaceOrderParams) { n.Status = "held" }, "orders_held_has_reason"},
		"unknown key in a message": {func(n *query.PlaceOrderParams) { n.Event = "" }, "order_events_event"},
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

// An order that was cancelled meanwhile stays cancelled, whoever writes with the
// status that was read before.
func TestCancelledOrderStaysCancelled(t *testing.T) {
	b := setup(t)
	read := b.ready("O-1")
	cancelled := read
	cancelled.Status, cancelled.ReasonCode = "cancelled", new("by_request")
	b.must(b.update(cancelled))
	for _, status := range []string{"received", "held", "ready", "failed"} {
		late := read
		late.Status, late.ReasonCode = status, new("by_request")
		_, err := b.store.UpdateOrder(t.Context(), updated(late, read.Status))
		b.notFound(err)
	}
	if applied, err := b.settle(settled(read, 2, []byte(`{}`))); applied || err != nil {
		t.Errorf("a late draft: applied %v, %v", applied, err)
	}
	if got := b.read(read); got.Status != "cancelled" || got.Revision != 1 {
		t.Errorf("order = %+v", got)
	}
}

func TestOrderForUpdateMakesOthersWait(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.placed("O-1")
	var wg sync.WaitGroup
	for range 10 {
		wg.Go(func() {
			err := b.store.InTx(ctx, func(tx *db.Tx) error {
				o, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: b.shop.ID, ID: o.ID})
				if err != nil {
					return err
				}
				o.DraftRequest++
				_, err = tx.UpdateOrder(ctx, updated(o, o.Status))
				return err
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
		_, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: newID(), ID: o.ID})
		b.notFound(err)
		return nil
	}))
}

func TestListOrders(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	one, two, three := b.placed("O-1"), b.ready("O-2"), b.order("O-3")
	three.Spec = json.RawMessage(`{"block": "sleeve"}`)
	three.At = noon.Add(time.Hour)
	_, err := b.place(three)
	b.must(err)

	last := b.stored(three.ID)
	ids := func(orders ...query.ShopOrder) (ids []uuid.UUID) {
		for _, o := range orders {
			ids = append(ids, o.ID)
		}
		return ids
	}
	for name, tt := range map[string]struct {
		filter query.ListOrdersParams
		want   []uuid.UUID
	}{
		"all":       {query.ListOrdersParams{}, ids(last, two, one)},
		"status":    {query.ListOrdersParams{Statuses: []string{"ready"}}, ids(two)},
		"reference": {query.ListOrdersParams{Reference: new("O-1")}, ids(one)},
		"customer":  {query.ListOrdersParams{CustomerID: &b.customer.ID}, ids(last, two, one)},
		"stranger":  {query.ListOrdersParams{CustomerID: new(newID())}, nil},
		"block":     {query.ListOrdersParams{Block: new("sleeve")}, ids(last)},
		"from":      {query.ListOrdersParams{CreatedFrom: new(noon.Add(time.Hour))}, ids(last)},
		"before":    {query.ListOrdersParams{CreatedBefore: new(noon.Add(time.Hour))}, ids(two, one)},
		"several": {query.ListOrdersParams{Statuses: []string{"received"}, Block: new("torso"), CreatedFrom: new(noon)},
			ids(one)},
		"progress": {query.ListOrdersParams{Progress: []string{"uncut"}}, ids(last, two, one)},
		"cut":      {query.ListOrdersParams{Progress: []string{"cut"}}, nil},
		"search":   {query.ListOrdersParams{Search: new("%o-1%")}, ids(one)},
	} {
		tt.filter.ShopID, tt.filter.Below, tt.filter.Limit = b.shop.ID, uuid.Max, 10
		got, err := b.store.ListOrders(ctx, tt.filter)
		b.must(err)
		if !equal(ids(got...), tt.want) {
			t.Errorf("%s: %v, want %v", name, ids(got...), tt.want)
		}
	}
	if page, err := b.store.ListOrders(ctx, query.ListOrdersParams{ShopID: b.shop.ID, Below: two.ID,
		Limit: 10}); err != nil ||
		!equal(ids(page...), ids(one)) {
		t.Errorf("second page: %v, %v", page, err)
	}
	if others, err := b.store.ListOrders(ctx, query.ListOrdersParams{ShopID: b.newShop("A", "a").ID, Below: uuid.Max,
		Limit: 10}); err != nil ||
		len(others) != 0 {
		t.Errorf("another shop sees %v, %v", others, err)
	}
}

func TestHistoryCannotBeChanged(t *testing.T) {
	b := setup(t)
	o := b.placed("O-1")
	b.must(b.store.InTx(t.Context(), func(tx *db.Tx) error {
		return tx.AppendEvent(t.Context(), query.AppendEventParams{
			ShopID: b.shop.ID, OrderID: o.ID, Event: "held", FromStatus: new("received"), ToStatus: "held",
			ReasonCode: new("by_request"), Reason: new("She will call back."), At: noon,
		})
	}))
	b.refused(b.exec(`UPDATE order_events SET at = now()`), "order_events_immutable")
	b.refused(b.exec(`DELETE FROM order_events`), "order_events_immutable")
	events, err := b.history(o.ID)
	b.must(err)
	if len(events) != 2 || *events[1].Reason != "She will call back." || *events[1].FromStatus != "received" {
		t.Errorf("history = %+v", events)
	}
}
