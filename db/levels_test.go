package db_test

import (
	"encoding/json"
	"testing"

	"tapeline/db"
)

func TestCheckLevels(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	l, err := b.store.CheckLevels(ctx, b.shop.ID)
	b.must(err)
	if l != (db.CheckLevels{}) {
		t.Errorf("a new shop's levels: %+v", l)
	}
	b.must(b.store.SetCheckLevels(ctx, b.shop.ID, db.CheckLevels{Note: new(0.1), Refuse: new(0.99)}))
	if l, err = b.store.CheckLevels(ctx, b.shop.ID); err != nil || *l.Note != 0.1 || l.Confirm != nil || *l.Refuse != 0.99 {
		t.Errorf("levels: %+v, %v", l, err)
	}
	b.refused(b.store.SetCheckLevels(ctx, b.shop.ID, db.CheckLevels{Confirm: new(1.0)}), "shops_check_confirm")
	b.notFound(b.store.SetCheckLevels(ctx, newID(), db.CheckLevels{}))
}

// What somebody confirmed stands in the history until the customer is erased.
func TestConfirmedNumbersAreErased(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.ready("LL-1")
	e := event(o, "confirmed")
	e.Confirmed = json.RawMessage(`[{"field": "/measurements/hip_girth"}]`)
	b.must(b.store.InTx(ctx, func(tx *db.Tx) error { return tx.AppendEvent(ctx, e) }))
	last := func() db.OrderEvent {
		events, err := b.store.OrderEvents(ctx, b.shop.ID, o.ID)
		b.must(err)
		return events[len(events)-1]
	}
	if got := last(); string(got.Confirmed) != string(e.Confirmed) {
		t.Errorf("confirmed %s", got.Confirmed)
	}
	b.refused(b.exec(`UPDATE order_events SET confirmed = NULL WHERE confirmed IS NOT NULL`), "order_events_immutable")
	b.must(b.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.EraseCustomer(ctx, b.shop.ID, b.customer.ID, noon)
		return err
	}))
	if got := last(); got.Confirmed != nil || got.ErasedAt == nil {
		t.Errorf("after the erasure: %s, erased %v", got.Confirmed, got.ErasedAt)
	}
}
