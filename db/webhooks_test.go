package db_test

import (
	"reflect"
	"slices"
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

// messages queues messages and returns their IDs, oldest first.
func (b *bench) messages(m query.QueueMessagesParams) []uuid.UUID {
	b.Helper()
	m.ShopID = b.shop.ID
	if m.Body == "" {
		m.Body = "{}"
	}
	before := len(b.queued())
	b.must(b.store.QueueMessages(b.Context(), m))
	var ids []uuid.UUID
	for _, q := range b.queued()[:len(b.queued())-before] {
		ids = append(ids, q.ID)
	}
	slices.Reverse(ids)
	return ids
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
	d, err := b.store.Message(ctx, query.MessageParams{ShopID: b.shop.ID, ID: m[0]})
	if err != nil || d.Status != "dead" {
		t.Errorf("its message = %+v, %v, want it given up and readable", d, err)
	}
	if n := b.count(`SELECT count(*) FROM webhook_endpoints WHERE secret <> '' OR previous IS NOT NULL`); n != 0 {
		t.Error("a deleted endpoint still has its secret")
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
	claimed := b.claim(query.ClaimMessagesParams{})
	if len(claimed) != 1 || claimed[0].ID != id || claimed[0].URL != e.URL || claimed[0].Body != `{"a":1}` ||
		claimed[0].Secrets.Current != "endpoint one" {
		t.Errorf("claimed %+v", claimed)
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

// claim claims messages at noon for a minute, with room for many unless the
// claim says otherwise.
func (b *bench) claim(c query.ClaimMessagesParams) []db.ClaimedMessage {
	b.Helper()
	if c.At.IsZero() {
		c.At = noon
	}
	c.ClaimedUntil = c.At.Add(time.Minute)
	if c.Each == 0 {
		c.Each = 100
	}
	if c.PerShop == 0 {
		c.PerShop = 100
	}
	if c.Limit == 0 {
		c.Limit = 100
	}
	claimed, err := b.store.ClaimMessages(b.Context(), c)
	b.must(err)
	return claimed
}

func TestClaimsTakeTurns(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	busy := b.endpoint("order.ready")
	for range 30 {
		b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon})
	}
	quiet := b.endpoint("order.held")
	b.messages(query.QueueMessagesParams{Type: "order.held", At: noon.Add(time.Second)})
	mine := b.shop
	b.shop = b.newShop("Other", "other")
	b.endpoint("order.ready")
	b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon.Add(time.Second)})
	other := b.shop
	b.shop = mine
	b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon.Add(hour)}) // not due

	at := noon.Add(time.Minute)
	count := func(claimed []db.ClaimedMessage) (ofBusy, ofQuiet, ofOther int) {
		for _, m := range claimed {
			switch {
			case m.EndpointID == busy.ID:
				ofBusy++
			case m.EndpointID == quiet.ID:
				ofQuiet++
			case m.ShopID == other.ID:
				ofOther++
			}
		}
		return
	}
	if a, q, o := count(b.claim(query.ClaimMessagesParams{At: at, Each: 5, Limit: 7})); a != 5 || q != 1 || o != 1 {
		t.Errorf("claimed %d of the busy endpoint, %d of the quiet one, %d of the other shop; want 5, 1, 1", a, q, o)
	}
	if a, q, o := count(b.claim(query.ClaimMessagesParams{At: at, PerShop: 3})); a != 3 || q+o != 0 {
		t.Errorf("claimed %d, %d, %d again; want 3 more of the busy endpoint", a, q, o)
	}
	if got := b.claim(query.ClaimMessagesParams{At: at, BusyEndpoints: []uuid.UUID{busy.ID}}); len(got) != 0 {
		t.Errorf("claimed %v for an endpoint that has its share", got)
	}
	if got := b.claim(query.ClaimMessagesParams{At: at, BusyShops: []uuid.UUID{mine.ID}}); len(got) != 0 {
		t.Errorf("claimed %v for a shop that has its share", got)
	}
	if got := b.claim(query.ClaimMessagesParams{At: at}); len(got) != 22 {
		t.Errorf("claimed %d, want the other 22", len(got))
	}
	// The claims of a killed process run out.
	if got := b.claim(query.ClaimMessagesParams{At: at.Add(time.Minute)}); len(got) != 32 {
		t.Errorf("claimed %d after the claims ran out, want all 32 that are due", len(got))
	}
	b.must(b.store.ReleaseMessages(ctx, []uuid.UUID{b.queued()[5].ID}))
	if got := b.claim(query.ClaimMessagesParams{At: at.Add(time.Minute)}); len(got) != 1 {
		t.Errorf("claimed %d after one was released", len(got))
	}
}

func TestMessagesOfAnOrderAreFirstSentInOrder(t *testing.T) {
	b := setup(t)
	b.endpoint("order.received", "order.ready")
	o := b.placed("O-1")
	first := b.messages(query.QueueMessagesParams{Type: "order.received", OrderID: &o.ID, At: noon})[0]
	second := b.messages(query.QueueMessagesParams{Type: "order.ready", OrderID: &o.ID, At: noon.Add(time.Millisecond)})[0]
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(time.Second)}); len(got) != 1 || got[0].ID != first {
		t.Fatalf("claimed %+v, want %v alone", got, first)
	}
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(time.Second)}); len(got) != 0 {
		t.Errorf("claimed %+v while the first was under way", got)
	}
	// The first failed: it does not hold up the second.
	_, err := b.store.RecordAttempt(t.Context(), query.RecordAttemptParams{MessageID: first, Number: 1,
		Outcome: "no_answer", Error: new("no answer in time"), StartedAt: noon, Status: "pending",
		NextAttemptAt: new(noon.Add(hour))})
	b.must(err)
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(time.Second)}); len(got) != 1 || got[0].ID != second {
		t.Errorf("claimed %+v, want %v", got, second)
	}
}

func TestFailingEndpointIsPaused(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	for range 4 {
		b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon})
	}
	fail := func(at time.Time) { b.must(b.store.EndpointFailed(ctx, query.EndpointFailedParams{ID: e.ID, At: at})) }
	read := func() query.WebhookEndpoint {
		got, err := b.store.Endpoint(ctx, query.EndpointParams{ShopID: b.shop.ID, ID: e.ID})
		b.must(err)
		return got
	}
	for range 4 {
		fail(noon)
	}
	if got := read(); got.PausedUntil != nil || !got.FailingSince.Equal(noon) || got.Failures != 4 {
		t.Errorf("after four failures: %+v", got)
	}
	fail(noon.Add(time.Second))
	if got := read(); got.PausedUntil != nil {
		t.Errorf("paused until %v after a second", got.PausedUntil)
	}
	fail(noon.Add(30 * time.Second))
	if got := read(); !got.PausedUntil.Equal(noon.Add(45 * time.Second)) {
		t.Errorf("paused until %v, want for 15 s", got.PausedUntil)
	}
	fail(noon.Add(10 * time.Minute))
	if got := read(); !got.PausedUntil.Equal(noon.Add(15 * time.Minute)) {
		t.Errorf("paused until %v, want half the time that it failed", got.PausedUntil)
	}
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(14 * time.Minute)}); len(got) != 0 {
		t.Errorf("claimed %d for a paused endpoint", len(got))
	}
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(15 * time.Minute)}); len(got) != 1 {
		t.Errorf("claimed %d after the pause, want one to try", len(got))
	}
	b.must(b.store.EndpointRecovered(ctx, e.ID))
	if got := read(); got.PausedUntil != nil || got.FailingSince != nil || got.Failures != 0 {
		t.Errorf("recovered: %+v", got)
	}
	if got := b.claim(query.ClaimMessagesParams{At: noon.Add(15 * time.Minute)}); len(got) != 3 {
		t.Errorf("claimed %d after it recovered, want the other three", len(got))
	}
}

func TestMessagesWaitForADisabledEndpoint(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	set := func(at *time.Time, reason *string) {
		b.must(b.store.UpdateEndpoint(ctx, query.UpdateEndpointParams{ShopID: b.shop.ID, ID: e.ID, URL: e.URL,
			Events: e.Events, DisabledAt: at, DisabledReason: reason, UpdatedAt: noon}))
	}
	set(new(noon), new("by_request"))
	m := b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon})
	if got := b.claim(query.ClaimMessagesParams{}); len(got) != 0 || len(m) != 1 {
		t.Errorf("queued %v, claimed %v for a disabled endpoint", m, got)
	}
	set(nil, nil)
	if got := b.claim(query.ClaimMessagesParams{}); len(got) != 1 {
		t.Errorf("claimed %v after it was enabled", got)
	}
	set(new(noon), new("by_request"))
	giveUp := func(before time.Time) int64 {
		n, err := b.store.GiveUpMessages(ctx, query.GiveUpMessagesParams{Before: before, At: noon.Add(hour), Limit: 10})
		b.must(err)
		return n
	}
	if n := giveUp(noon); n != 0 {
		t.Errorf("gave up %d young messages", n)
	}
	if n := giveUp(noon.Add(time.Second)); n != 1 || b.queued()[0].Status != "dead" {
		t.Errorf("gave up %d, and left %+v", n, b.queued()[0])
	}
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
	b.must(b.exec(`UPDATE webhook_messages SET status = 'dead', settled_at = now(), next_attempt_at = NULL
		WHERE type = 'endpoint.test'`))

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
	owed, err := b.store.OwedMessages(ctx, noon)
	if err != nil || owed.Count != 3 || !owed.Oldest.Equal(noon) {
		t.Errorf("OwedMessages = %+v, %v", owed, err)
	}
	b.refused(b.store.QueueMessages(ctx, query.QueueMessagesParams{ShopID: b.shop.ID, Type: "order.held",
		Body: strings.Repeat("x", 20000), At: noon}), "webhook_messages_body")
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
