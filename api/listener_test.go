package api_test

import (
	"encoding/json"
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	standard "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/app"
)

// fetcher is a program that fetches a shop's messages.
type fetcher struct {
	*bench
	key, path, secret string
}

func (b *bench) newFetcher(key string) fetcher {
	b.Helper()
	var made api.WebhookEndpointWithSecret
	b.with(key, "POST", "/v1/webhook-listeners", object{"forward_to": "http://127.0.0.1:3000/hooks"}).
		want(http.StatusCreated, &made)
	return fetcher{b, key, "/v1/webhook-listeners/" + made.Endpoint.ID.String(), made.Secret}
}

// fetch reports and fetches, and checks the signatures of what comes.
func (f fetcher) fetch(wait int, reports ...object) []api.FetchedWebhookMessage {
	f.Helper()
	var list api.FetchedWebhookMessageList
	f.with(f.key, "POST", f.path+"/fetch", object{"wait": wait, "reports": append([]object{}, reports...)}).
		want(http.StatusOK, &list)
	hook, err := standard.NewWebhook(f.secret)
	f.must(err)
	for _, m := range list.Items {
		h := http.Header{}
		for name, value := range m.Headers {
			h.Set(name, value)
		}
		if err := hook.VerifyIgnoringTimestamp([]byte(m.Body), h); err != nil || h.Get("webhook-id") != m.ID.String() {
			f.Errorf("signature of %s: %v", m.Body, err)
		}
	}
	return list.Items
}

func event(t *testing.T, m api.FetchedWebhookMessage) (e api.WebhookEvent) {
	t.Helper()
	if err := json.Unmarshal([]byte(m.Body), &e); err != nil {
		t.Fatal(err)
	}
	return e
}

// A listener gets each message until it reports an answer of 2xx, and none twice
// within a minute.
func TestListenerLosesNothing(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
	})
	f := b.newFetcher(b.keys[service.RoleShop])
	o := b.placed("LL-1")
	first := f.fetch(10)
	if len(first) != 1 || event(t, first[0]).Type != "order.received" || event(t, first[0]).Data.OrderID != o.ID {
		t.Fatalf("fetched %+v", first)
	}
	b.settled(o.ID)
	if again := f.fetch(0); len(again) != 0 {
		t.Errorf("fetched within a minute, though the first is not reported: %+v", again)
	}
	ahead.Add(int64(61 * time.Second)) // the program was killed before it could report
	lost := f.fetch(10)
	if len(lost) != 1 || lost[0].ID != first[0].ID || lost[0].Attempt != 1 {
		t.Fatalf("after a minute: %+v", lost)
	}
	refused := object{"message_id": lost[0].ID, "attempt": 1, "http_status": 500, "duration_ms": 3}
	ready := f.fetch(10, refused)
	if len(ready) != 1 || event(t, ready[0]).Type != "order.ready" {
		t.Fatalf("after the first attempt: %+v", ready)
	}
	delivered := object{"message_id": ready[0].ID, "attempt": 1, "http_status": 204}
	// The answer to the last call was lost: both are reported again.
	if rest := f.fetch(0, delivered, refused); len(rest) != 0 {
		t.Errorf("before the next attempt is due: %+v", rest)
	}
	ahead.Add(int64(10 * time.Second))
	second := f.fetch(10, delivered)
	if len(second) != 1 || second[0].ID != first[0].ID || second[0].Attempt != 2 {
		t.Fatalf("second attempt: %+v", second)
	}
	f.fetch(0, object{"message_id": second[0].ID, "attempt": 2, "error": "connection refused"})
	var attempts api.WebhookAttemptList
	b.get("/v1/webhook-messages/"+first[0].ID.String()+"/attempts").want(http.StatusOK, &attempts)
	if len(attempts.Items) != 2 || *attempts.Items[0].HTTPStatus != 500 ||
		attempts.Items[1].Error != "connection refused" {
		t.Errorf("attempts: %+v", attempts.Items)
	}
	b.awaitMessage(ready[0].ID, api.MessageStatusDelivered)

	// It is no endpoint of the shop's, and leaves nothing pending.
	var endpoints api.WebhookEndpointList
	if b.get("/v1/webhook-endpoints").want(http.StatusOK, &endpoints); len(endpoints.Items) != 0 {
		t.Errorf("endpoints: %+v", endpoints.Items)
	}
	b.with(f.key, "DELETE", f.path, nil).want(http.StatusNoContent, nil)
	b.with(f.key, "POST", f.path+"/fetch", object{}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.awaitMessage(first[0].ID, api.MessageStatusDead)
}

func TestListenerLimits(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
	})
	key := b.keys[service.RoleShop]
	f := b.newFetcher(key)
	// One that a test key creates hears of test orders only.
	test := b.testKey(service.RoleShop)
	tests := b.newFetcher(test)
	b.placed("LL-1")
	b.with(test, "POST", "/v1/orders", sampleOrder("LL-2")).want(http.StatusCreated, nil)
	if got := tests.fetch(10); len(got) != 1 || !event(t, got[0]).Data.Test {
		t.Errorf("of tests: %+v", got)
	}
	if got := f.fetch(10); len(got) != 2 {
		t.Errorf("of all: %+v", got)
	}
	for _, report := range []object{
		{"message_id": uuid.NewString(), "attempt": 1},
		{"message_id": uuid.NewString(), "attempt": 1, "http_status": 200, "error": "timed out"},
	} {
		b.with(key, "POST", f.path+"/fetch", object{"reports": []object{report}}).
			problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	}
	// Nobody else's, and not that of an endpoint.
	b.with(test, "POST", f.path+"/fetch", object{}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.with(b.otherShop(service.RoleAdmin), "DELETE", f.path, nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	h := b.listen("order.cancelled") // of which there is none: the clock is set ahead below
	b.with(key, "DELETE", "/v1/webhook-listeners/"+h.endpoint.ID.String(), nil).
		problem(http.StatusNotFound, api.ProblemCodeNotFound)
	for range 4 {
		b.newFetcher(key)
	}
	full := object{"forward_to": "http://127.0.0.1:3000/hooks"}
	b.with(key, "POST", "/v1/webhook-listeners", full).problem(http.StatusConflict, api.ProblemCodeLimitReached)
	ahead.Add(int64(6 * time.Minute)) // they no longer fetch
	b.with(key, "POST", f.path+"/fetch", object{}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.with(key, "POST", "/v1/webhook-listeners", full).want(http.StatusCreated, nil)
	b.must(b.service.ClearAway(t.Context(), time.Now().Add(6*time.Minute)))
	b.with(key, "DELETE", f.path, nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
}
