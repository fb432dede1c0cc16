package db_test

import (
	"encoding/json"
	"testing"

	"tapeline/db"
	"tapeline/db/query"
)

func TestAssessmentLevels(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	if l, err := b.store.AssessmentLevels(ctx, b.shop.ID); err != nil || l != (query.AssessmentLevelsRow{}) {
		t.Errorf("a new shop's levels: %+v, %v", l, err)
	}
	set := func(l query.SetAssessmentLevelsParams) error {
		_, err := b.store.SetAssessmentLevels(ctx, l)
		return err
	}
	b.must(set(query.SetAssessmentLevelsParams{ID: b.shop.ID, CheckNote: new(0.1), CheckRefuse: new(0.99)}))
	l, err := b.store.AssessmentLevels(ctx, b.shop.ID)
	if err != nil || *l.CheckNote != 0.1 || l.CheckConfirm != nil || *l.CheckRefuse != 0.99 {
		t.Errorf("levels: %+v, %v", l, err)
	}
	b.refused(set(query.SetAssessmentLevelsParams{ID: b.shop.ID, CheckConfirm: new(1.0)}), "shops_check_confirm")
	b.notFound(set(query.SetAssessmentLevelsParams{ID: newID()}))
}

// A confirmation stays in the history until the customer is erased.
func TestConfirmedNumbersAreErased(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.ready("LL-1")
	e := query.AppendEventParams{ShopID: b.shop.ID, OrderID: o.ID, Event: "confirmed", ToStatus: o.Status, At: noon}
	e.Confirmed = json.RawMessage(`[{"field": "/measurements/hip_girth"}]`)
	b.must(b.store.InTx(ctx, func(tx *db.Tx) error { return tx.AppendEvent(ctx, e) }))
	last := func() query.OrderEvent {
		events, err := b.history(o.ID)
		b.must(err)
		return events[len(events)-1]
	}
	if got := last(); string(got.Confirmed) != string(e.Confirmed) {
		t.Errorf("confirmed %s", got.Confirmed)
	}
	b.refused(b.exec(`UPDATE order_events SET confirmed = NULL WHERE confirmed IS NOT NULL`), "order_events_immutable")
	_, err := b.erase(b.customer.ID)
	b.must(err)
	if got := last(); got.Confirmed != nil || got.ErasedAt == nil {
		t.Errorf("after the erasure: %s, erased %v", got.Confirmed, got.ErasedAt)
	}
}
