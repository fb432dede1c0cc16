package db_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

const hour = time.Hour

func (b *bench) endpoint(events ...string) db.Endpoint {
	b.Helper()
	e := db.Endpoint{
		ID: newID(), ShopID: b.shop.ID, URL: "https://hooks.example/tapeline", Events: events, CreatedAt: noon, UpdatedAt: noon,
	}
	b.must(b.store.InsertEndpoint(b.Context(), e, "endpoint one"))
	return e
}

func (b *bench) messages(m db.NewMessage) (queued []db.QueuedMessage) {
	b.Helper()
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) (err error) {
		queued, err = tx.AddMessages(b.Context(), m)
		return err
	}))
	return queued
}

func TestEndpoints(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	got, err := b.store.Endpoint(ctx, b.shop.ID, e.ID)
	if err != nil || got.URL != e.URL || !reflect.DeepEqual(got.Events, e.Events) || got.DisabledAt != nil {
		t.Errorf("Endpoint = %+v, %v", got, err)
	}
	_, err = b.store.Endpoint(ctx, newID(), e.ID)
	b.notFound(err)

	got.Description, got.Events, got.UpdatedAt = "till", []string{"order.held", "order.failed"}, noon.Add(hour)
	b.must(b.store.UpdateEndpoint(ctx, got))
	b.must(b.store.DisableEndpoint(ctx, b.shop.ID, e.ID, "gone", noon))
	b.must(b.store.DisableEndpoint(ctx, b.shop.ID, e.ID, "later", noon.Add(hour)))
	list, err := b.store.Endpoints(ctx, b.shop.ID)
	b.must(err)
	if len(list) != 1 || list[0].Description != "till" || *list[0].DisabledReason != "gone" || !list[0].DisabledAt.Equal(noon) {
		t.Errorf("Endpoints = %+v", list)
	}

	b.must(b.store.RotateEndpointSecret(ctx, b.shop.ID, e.ID, "endpoint two", noon.Add(hour), noon))
	s, err := b.store.EndpointSecrets(ctx, b.shop.ID, e.ID)
	b.must(err)
	if valid := s.Valid(noon); !reflect.DeepEqual(valid, []string{"endpoint two", "endpoint one"}) {
		t.Errorf("secrets = %q", valid)
	}

	for constraint, spoil := range map[string]func(*db.Endpoint){
		"webhook_endpoints_events":      func(e *db.Endpoint) { e.Events = []string{"order.ready", "order.sewn"} },
		"webhook_endpoints_url":         func(e *db.Endpoint) { e.URL = "" },
		"webhook_endpoints_disabled":    func(e *db.Endpoint) { e.DisabledAt = &noon },
		"webhook_endpoints_description": func(e *db.Endpoint) { e.Description = strings.Repeat("x", 501) },
	} {
		x := e
		x.ID = newID()
		spoil(&x)
		b.refused(b.store.InsertEndpoint(ctx, x, "s"), constraint)
	}
	none := e
	none.ID, none.Events = newID(), []string{}
	b.refused(b.store.InsertEndpoint(ctx, none, "s"), "webhook_endpoints_events")

	m := b.messages(db.NewMessage{ShopID: b.shop.ID, Type: "order.held", Body: "{}", At: noon})
	if len(m) != 0 {
		t.Errorf("a disabled endpoint was sent %v", m)
	}
	for _, err := range []error{
		b.store.UpdateEndpoint(ctx, db.Endpoint{ID: e.ID, ShopID: newID(), URL: "https://x", Events: e.Events}),
		b.store.DisableEndpoint(ctx, newID(), e.ID, "x", noon),
		b.store.RotateEndpointSecret(ctx, newID(), e.ID, "x", noon, noon),
		second(b.store.EndpointSecrets(ctx, newID(), e.ID)),
	} {
		b.notFound(err)
	}
}

func TestDeletedEndpoint(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	m := b.messages(db.NewMessage{ShopID: b.shop.ID, Type: "order.ready", Body: "{}", At: noon})
	remove := func(shop uuid.UUID) error {
		return b.store.InTx(ctx, func(tx *db.Tx) error { return tx.DeleteEndpoint(ctx, shop, e.ID, noon) })
	}
	b.notFound(remove(newID()))
	b.must(remove(b.shop.ID))
	b.notFound(remove(b.shop.ID))
	_, err := b.store.Endpoint(ctx, b.shop.ID, e.ID)
	b.notFound(err)
	if list, err := b.store.Endpoints(ctx, b.shop.ID); err != nil || len(list) != 0 {
		t.Errorf("Endpoints = %v, %v", list, err)
	}
	d, err := b.store.Delivery(ctx, m[0].ID)
	if err != nil || d.Status != "dead" || !d.Disabled {
		t.Errorf("its message = %+v, %v, want it given up and readable", d, err)
	}
	if n := b.count(`SELECT count(*) FROM webhook_endpoints WHERE secret <> '' OR previous IS NOT NULL`); n != 0 {
		t.Error("the secret of a deleted endpoint is kept")
	}
	if _, err := b.store.Reseal(ctx); err != nil {
		t.Errorf("Reseal: %v", err)
	}
}

func TestDeliveryOfAMessage(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	o := b.placed("O-1")
	queued := b.messages(db.NewMessage{ShopID: b.shop.ID, Type: "order.ready", OrderID: &o.ID, Body: `{"a":1}`, At: noon})
	if len(queued) != 1 {
		t.Fatalf("queued %v", queued)
	}
	id := queued[0].ID
	if id.Version() != 7 || id.Variant() != uuid.RFC4122 {
		t.Errorf("message id %v is version %d, want 7", id, id.Version())
	}
	if sec, nsec := id.Time().UnixTime(); time.Unix(sec, nsec).UnixMilli() != noon.UnixMilli() {
		t.Errorf("message id %v carries %v, want %v", id, time.Unix(sec, nsec), noon)
	}
	d, err := b.store.Delivery(ctx, id)
	b.must(err)
	if d.URL != e.URL || d.Body != `{"a":1}` || d.Secrets.Current != "endpoint one" || d.Disabled || d.Status != "pending" || !d.NextAttemptAt.Equal(noon) {
		t.Errorf("Delivery = %+v", d)
	}

	attempt := func(number int, outcome string, status *int) db.Attempt {
		return db.Attempt{MessageID: id, Number: number, Outcome: outcome, HTTPStatus: status, StartedAt: noon, DurationMS: 12}
	}
	next := noon.Add(hour)
	record := func(a db.Attempt, status string, next, settled *time.Time, want bool) {
		t.Helper()
		got, err := b.store.RecordAttempt(ctx, a, status, next, settled)
		b.must(err)
		if got != want {
			t.Errorf("attempt %d recorded %v, want %v", a.Number, got, want)
		}
	}
	record(attempt(1, "timed_out", nil), "pending", &next, nil, true)
	record(attempt(1, "timed_out", nil), "pending", &next, nil, false) // another worker had it
	record(attempt(2, "status", new(500)), "dead", nil, &next, true)
	record(attempt(3, "status", new(500)), "pending", &next, nil, false) // settled meanwhile
	m, err := b.store.Message(ctx, b.shop.ID, id)
	if err != nil || m.Status != "dead" || m.Attempts != 2 || m.Tries != 2 || m.NextAttemptAt != nil || !m.SettledAt.Equal(next) {
		t.Errorf("dead message = %+v, %v", m, err)
	}

	var replayed db.Message
	replay := func(shop uuid.UUID) error {
		return b.store.InTx(ctx, func(tx *db.Tx) (err error) {
			replayed, err = tx.ReplayMessage(ctx, shop, id, next)
			return err
		})
	}
	b.notFound(replay(newID()))
	b.must(replay(b.shop.ID))
	if replayed.ID != id || replayed.Status != "pending" || replayed.Attempts != 2 || replayed.Tries != 0 {
		t.Errorf("replayed = %+v", replayed)
	}
	b.notFound(replay(b.shop.ID)) // it is on its way
	record(attempt(3, "delivered", new(204)), "delivered", nil, &next, true)

	attempts, err := b.store.Attempts(ctx, b.shop.ID, id)
	b.must(err)
	if len(attempts) != 3 || attempts[0].HTTPStatus != nil || *attempts[1].HTTPStatus != 500 || attempts[2].Outcome != "delivered" {
		t.Errorf("Attempts = %+v", attempts)
	}
	if other, err := b.store.Attempts(ctx, newID(), id); err != nil || len(other) != 0 {
		t.Errorf("another shop sees %v, %v", other, err)
	}
	b.refused(b.exec(`UPDATE webhook_messages SET body = '{}'`), "webhook_messages_immutable")
	b.refused(b.exec(`UPDATE webhook_messages SET status = 'pending'`), "webhook_messages_settled")
}

func TestMessages(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e, f := b.endpoint("order.ready", "order.held"), b.endpoint("order.ready")
	o := b.placed("O-1")
	both := b.messages(db.NewMessage{ShopID: b.shop.ID, Type: "order.ready", OrderID: &o.ID, Body: "{}", At: noon})
	held := b.messages(db.NewMessage{ShopID: b.shop.ID, Type: "order.held", Body: "{}", At: noon.Add(time.Second)})
	if len(both) != 2 || len(held) != 1 || held[0].EndpointID != e.ID {
		t.Fatalf("queued %v, %v", both, held)
	}
	var test db.Message
	b.must(b.store.InTx(ctx, func(tx *db.Tx) (err error) {
		test, err = tx.AddMessageTo(ctx, f.ID, db.NewMessage{ShopID: b.shop.ID, Type: "endpoint.test", Body: "{}", At: noon.Add(2 * time.Second)})
		return err
	}))
	b.must(b.store.GiveUpMessage(ctx, test.ID, noon))

	for name, tt := range map[string]struct {
		filter db.MessageFilter
		want   int
	}{
		"all":      {db.MessageFilter{}, 4},
		"type":     {db.MessageFilter{Type: "order.ready"}, 2},
		"status":   {db.MessageFilter{Status: "dead"}, 1},
		"endpoint": {db.MessageFilter{EndpointID: f.ID}, 2},
		"order":    {db.MessageFilter{OrderID: o.ID}, 2},
		"several":  {db.MessageFilter{OrderID: o.ID, EndpointID: e.ID, Status: "pending", Type: "order.ready"}, 1},
	} {
		got, err := b.store.Messages(ctx, b.shop.ID, tt.filter, db.Page{Limit: 10})
		if err != nil || len(got) != tt.want {
			t.Errorf("%s: %d messages, %v, want %d", name, len(got), err, tt.want)
		}
	}
	first, err := b.store.Messages(ctx, b.shop.ID, db.MessageFilter{}, db.Page{Limit: 2})
	b.must(err)
	rest, err := b.store.Messages(ctx, b.shop.ID, db.MessageFilter{}, db.Page{Limit: 10, After: first[1].ID})
	if err != nil || first[0].ID != test.ID || first[1].ID != held[0].ID || len(rest) != 2 {
		t.Errorf("pages: %v, %v, %v", first, rest, err)
	}
	owed, oldest, err := b.store.OwedMessages(ctx)
	if err != nil || owed != 3 || !oldest.Equal(noon) {
		t.Errorf("OwedMessages = %d, %v, %v", owed, oldest, err)
	}

	long := db.NewMessage{ShopID: b.shop.ID, Type: "order.held", Body: strings.Repeat("x", 20000), At: noon}
	b.refused(b.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.AddMessages(ctx, long)
		return err
	}), "webhook_messages_body")
	b.notFound(b.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.AddMessageTo(ctx, newID(), db.NewMessage{ShopID: b.shop.ID, Type: "endpoint.test", Body: "{}", At: noon})
		return err
	}))
}

func TestInboundMessages(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	m := db.InboundMessage{ShopID: b.shop.ID, MessageID: "evt_1", BodyHash: make([]byte, 32), OrderID: b.placed("O-1").ID, ReceivedAt: noon}
	insert := func() error {
		return b.store.InTx(ctx, func(tx *db.Tx) error { return tx.InsertInboundMessage(ctx, m) })
	}
	b.must(insert())
	b.refused(insert(), "inbound_messages_pkey")
	got, err := b.store.InboundMessage(ctx, b.shop.ID, "evt_1")
	if err != nil || got.OrderID != m.OrderID || !got.ReceivedAt.Equal(noon) {
		t.Errorf("InboundMessage = %+v, %v", got, err)
	}
	_, err = b.store.InboundMessage(ctx, newID(), "evt_1")
	b.notFound(err)
}
