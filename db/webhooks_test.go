package db_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

const hour = time.Hour

func (b *bench) endpoint(events ...string) query.InsertEndpointParams {
	b.Helper()
	e := query.InsertEndpointParams{ID: newID(), ShopID: b.shop.ID, URL: "https://hooks.example/tapeline", Events: events,
		Secret: []byte("endpoint one"), At: noon}
	b.must(b.store.InsertEndpoint(b.Context(), e))
	return e
}

func (b *bench) messages(m query.QueueMessagesParams) []uuid.UUID {
	b.Helper()
	m.ShopID = b.shop.ID
	if m.Body == "" {
		m.Body = "{}"
	}
	queued, err := b.store.QueueMessages(b.Context(), m)
	b.must(err)
	return queued
}

func (b *bench) rotate(shop, endpoint uuid.UUID, secret string, until time.Time) (query.WebhookEndpoint, error) {
	return b.store.RotateEndpointSecret(b.Context(), query.RotateEndpointSecretParams{ShopID: shop, ID: endpoint,
		Secret:        []byte(secret),
		PreviousUntil: until, At: noon})
}

func TestEndpoints(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	got, err := b.store.Endpoint(ctx, query.EndpointParams{ShopID: b.shop.ID, ID: e.ID})
	if err != nil || got.URL != e.URL || !reflect.DeepEqual(got.Events, e.Events) || got.DisabledAt != nil {
		t.Errorf("Endpoint = %+v, %v", got, err)
	}
	b.notFound(errOf(b.store.Endpoint(ctx, query.EndpointParams{ShopID: newID(), ID: e.ID})))

	b.must(b.store.UpdateEndpoint(ctx, query.UpdateEndpointParams{ShopID: b.shop.ID, ID: e.ID, URL: e.URL,
		Description: "till",
		Events:      []string{"order.held", "order.failed"}, UpdatedAt: noon.Add(hour)}))
	b.must(b.store.DisableEndpoint(ctx, query.DisableEndpointParams{ShopID: b.shop.ID, ID: e.ID, Reason: new("gone"),
		At: noon}))
	b.must(b.store.DisableEndpoint(ctx, query.DisableEndpointParams{ShopID: b.shop.ID, ID: e.ID, Reason: new("later"),
		At: noon.Add(hour)}))
	list, err := b.store.Endpoints(ctx, b.shop.ID)
	b.must(err)
	if len(list) != 1 || list[0].Description != "till" || *list[0].DisabledReason != "gone" ||
		!list[0].DisabledAt.Equal(noon) {
		t.Errorf("Endpoints = %+v", list)
	}
	if m := b.messages(query.QueueMessagesParams{Type: "order.held", At: noon}); len(m) != 0 {
		t.Errorf("a disabled endpoint was sent %v", m)
	}
	if rotated, err := b.rotate(b.shop.ID, e.ID, "endpoint two", noon.Add(hour)); err != nil ||
		!rotated.PreviousUntil.Equal(noon.Add(hour)) {
		t.Errorf("rotated = %+v, %v", rotated, err)
	}
	b.notFound(errOf(b.rotate(newID(), e.ID, "x", noon)))

	for constraint, spoil := range map[string]func(*query.InsertEndpointParams){
		"webhook_endpoints_events": func(e *query.InsertEndpointParams) {
			e.Events = []string{"order.ready",
				"order.sewn"}
		},
		"webhook_endpoints_url":         func(e *query.InsertEndpointParams) { e.URL = "" },
		"webhook_endpoints_description": func(e *query.InsertEndpointParams) { e.Description = strings.Repeat("x", 501) },
	} {
		x := e
		x.ID = newID()
		spoil(&x)
		b.refused(b.store.InsertEndpoint(ctx, x), constraint)
	}
	b.refused(b.exec(`UPDATE webhook_endpoints SET disabled_at = NULL`), "webhook_endpoints_disabled")
	none := e
	none.ID, none.Events = newID(), []string{}
	b.refused(b.store.InsertEndpoint(ctx, none), "webhook_endpoints_events")
}

func TestDeletedEndpoint(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	m := b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon})
	remove := func(shop uuid.UUID) error {
		return errOf(b.store.DeleteEndpoint(ctx, query.DeleteEndpointParams{ShopID: shop, ID: e.ID, At: noon}))
	}
	b.notFound(remove(newID()))
	b.must(remove(b.shop.ID))
	b.notFound(remove(b.shop.ID))
	b.notFound(errOf(b.store.Endpoint(ctx, query.EndpointParams{ShopID: b.shop.ID, ID: e.ID})))
	if list, err := b.store.Endpoints(ctx, b.shop.ID); err != nil || len(list) != 0 {
		t.Errorf("Endpoints = %v, %v", list, err)
	}
	d, err := b.store.Delivery(ctx, m[0])
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
	queued := b.messages(query.QueueMessagesParams{Type: "order.ready", OrderID: &o.ID, Body: `{"a":1}`, At: noon})
	if len(queued) != 1 {
		t.Fatalf("queued %v", queued)
	}
	id := queued[0]
	if id.Version() != 7 || id.Variant() != uuid.RFC4122 {
		t.Errorf("message ID %v is version %d, want 7", id, id.Version())
	}
	if sec, nsec := id.Time().UnixTime(); time.Unix(sec, nsec).UnixMilli() != noon.UnixMilli() {
		t.Errorf("message ID %v carries %v, want %v", id, time.Unix(sec, nsec), noon)
	}
	d, err := b.store.Delivery(ctx, id)
	b.must(err)
	if d.URL != e.URL || d.Body != `{"a":1}` || d.Secrets.Current != "endpoint one" || d.Disabled ||
		d.Status != "pending" || !d.NextAttemptAt.Equal(noon) {
		t.Errorf("Delivery = %+v", d)
	}

	next := noon.Add(hour)
	record := func(number int, outcome string, http *int, status string, next, settled *time.Time, want int64) {
		t.Helper()
		got, err := b.store.RecordAttempt(ctx, query.RecordAttemptParams{MessageID: id, Number: number, Outcome: outcome,
			HTTPStatus: http,
			StartedAt:  noon, DurationMS: 12, Status: status, NextAttemptAt: next, SettledAt: settled})
		b.must(err)
		if got != want {
			t.Errorf("attempt %d: %d recorded, want %d", number, got, want)
		}
	}
	record(1, "timed_out", nil, "pending", &next, nil, 1)
	record(1, "timed_out", nil, "pending", &next, nil, 0) // another worker recorded it
	record(2, "status", new(500), "dead", nil, &next, 1)
	record(3, "status", new(500), "pending", &next, nil, 0) // settled meanwhile
	m, err := b.store.Message(ctx, query.MessageParams{ShopID: b.shop.ID, ID: id})
	if err != nil || m.Status != "dead" || m.Attempts != 2 || m.Tries != 2 || m.NextAttemptAt != nil ||
		!m.SettledAt.Equal(next) {
		t.Errorf("dead message = %+v, %v", m, err)
	}

	replay := func(shop uuid.UUID) (query.WebhookMessage, error) {
		return b.store.ReplayMessage(ctx, query.ReplayMessageParams{ShopID: shop, ID: id, At: next})
	}
	b.notFound(errOf(replay(newID())))
	replayed, err := replay(b.shop.ID)
	if err != nil || replayed.ID != id || replayed.Status != "pending" || replayed.Attempts != 2 || replayed.Tries != 0 {
		t.Errorf("replayed = %+v, %v", replayed, err)
	}
	b.notFound(errOf(replay(b.shop.ID))) // it is on its way
	record(3, "delivered", new(204), "delivered", nil, &next, 1)

	attempts, err := b.store.ListAttempts(ctx, query.ListAttemptsParams{ShopID: b.shop.ID, MessageID: id, Limit: 3})
	b.must(err)
	if len(attempts) != 3 || attempts[2].HTTPStatus != nil || *attempts[1].HTTPStatus != 500 ||
		attempts[0].Outcome != "delivered" {
		t.Errorf("ListAttempts = %+v", attempts)
	}
	other, err := b.store.ListAttempts(ctx, query.ListAttemptsParams{ShopID: newID(), MessageID: id, Limit: 3})
	if err != nil || len(other) != 0 {
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
	both := b.messages(query.QueueMessagesParams{Type: "order.ready", OrderID: &o.ID, At: noon})
	held := b.messages(query.QueueMessagesParams{Type: "order.held", At: noon.Add(time.Second)})
	if len(both) != 2 || len(held) != 1 {
		t.Fatalf("queued %v, %v", both, held)
	}
	queueTo := func(endpoint uuid.UUID) (query.WebhookMessage, error) {
		return b.store.QueueMessageTo(ctx, query.QueueMessageToParams{ShopID: b.shop.ID, EndpointID: endpoint,
			Type: "endpoint.test",
			Body: "{}", At: noon.Add(2 * time.Second)})
	}
	test, err := queueTo(f.ID)
	b.must(err)
	b.notFound(errOf(queueTo(newID())))
	b.must(b.store.GiveUpMessage(ctx, query.GiveUpMessageParams{ID: test.ID, At: noon}))

	list := func(p query.ListMessagesParams) []query.WebhookMessage {
		t.Helper()
		p.ShopID = b.shop.ID
		if p.Limit == 0 {
			p.Limit = 10
		}
		if p.Below == uuid.Nil {
			p.Below = uuid.Max
		}
		got, err := b.store.ListMessages(ctx, p)
		b.must(err)
		return got
	}
	for name, tt := range map[string]struct {
		filter query.ListMessagesParams
		want   int
	}{
		"all":      {query.ListMessagesParams{}, 4},
		"type":     {query.ListMessagesParams{Type: new("order.ready")}, 2},
		"status":   {query.ListMessagesParams{Status: new("dead")}, 1},
		"endpoint": {query.ListMessagesParams{EndpointID: &f.ID}, 2},
		"order":    {query.ListMessagesParams{OrderID: &o.ID}, 2},
		"several": {query.ListMessagesParams{OrderID: &o.ID, EndpointID: &e.ID, Status: new("pending"),
			Type: new("order.ready")}, 1},
	} {
		if got := list(tt.filter); len(got) != tt.want {
			t.Errorf("%s: %d messages, want %d", name, len(got), tt.want)
		}
	}
	first := list(query.ListMessagesParams{Limit: 2})
	rest := list(query.ListMessagesParams{Below: first[1].ID})
	if first[0].ID != test.ID || first[1].ID != held[0] || len(rest) != 2 {
		t.Errorf("pages: %v, %v", first, rest)
	}
	owed, err := b.store.OwedMessages(ctx)
	if err != nil || owed.Count != 3 || !owed.Oldest.Equal(noon) {
		t.Errorf("OwedMessages = %+v, %v", owed, err)
	}
	b.refused(errOf(b.store.QueueMessages(ctx, query.QueueMessagesParams{ShopID: b.shop.ID, Type: "order.held",
		Body: strings.Repeat("x", 20000), At: noon})), "webhook_messages_body")
}

func TestInboundMessages(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	m := query.InsertInboundMessageParams{ShopID: b.shop.ID, MessageID: "evt_1", BodyHash: make([]byte, 32),
		OrderID:    b.placed("O-1").ID,
		ReceivedAt: noon}
	insert := func() error {
		return b.store.InTx(ctx, func(tx *db.Tx) error { return tx.InsertInboundMessage(ctx, m) })
	}
	b.must(insert())
	b.refused(insert(), "inbound_messages_pkey")
	got, err := b.store.InboundMessage(ctx, query.InboundMessageParams{ShopID: b.shop.ID, MessageID: "evt_1"})
	if err != nil || got.OrderID != m.OrderID || !got.ReceivedAt.Equal(noon) {
		t.Errorf("InboundMessage = %+v, %v", got, err)
	}
	_, err = b.store.InboundMessage(ctx, query.InboundMessageParams{ShopID: newID(), MessageID: "evt_1"})
	b.notFound(err)
}
