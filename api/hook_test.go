package api_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"

	"github.com/google/uuid"
	standard "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"tapeline/api"
	"tapeline/service"
)

// hook is a shop's receiver. It checks what it is sent with the Standard
// Webhooks project's own library, and the body against the contract.
type hook struct {
	endpoint api.WebhookEndpoint
	secret   string
	server   *httptest.Server

	mu       sync.Mutex
	answer   http.HandlerFunc // nil: 204
	received []delivery
}

// delivery is one message as it came, accepted or not.
type delivery struct {
	id     string
	header http.Header
	body   []byte
	event  api.WebhookEvent
}

// listen starts a receiver and registers it.
func (b *bench) listen(events ...string) *hook {
	b.Helper()
	return b.listenAs(b.keys[service.RoleAdmin], events...)
}

// listenAs starts a receiver and registers it with a key.
func (b *bench) listenAs(key string, events ...string) *hook {
	b.Helper()
	h := &hook{}
	schema := contractDoc(b).Components.Schemas["WebhookEvent"].Value
	h.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return // the sender was killed
		}
		d := delivery{id: r.Header.Get("webhook-id"), header: r.Header.Clone(), body: body}
		var plain any
		if err := json.Unmarshal(body, &plain); err != nil {
			b.Errorf("webhook body: %v", err)
		} else if err := schema.VisitJSON(plain); err != nil {
			b.Errorf("webhook body is not as the contract says: %v", err)
		}
		if err := json.Unmarshal(body, &d.event); err != nil {
			b.Errorf("webhook body: %v", err)
		}
		h.mu.Lock()
		secret, answer := h.secret, h.answer
		h.received = append(h.received, d)
		h.mu.Unlock()
		verifier, err := standard.NewWebhook(secret)
		if err == nil {
			err = verifier.Verify(body, r.Header)
		}
		if err != nil {
			b.Errorf("signature of %s: %v", d.id, err)
		}
		if answer != nil {
			answer(w, r)
			return
		}
		w.WriteHeader(http.StatusNoContent)
	}))
	b.Cleanup(h.server.Close)
	body := object{"url": h.server.URL + "/hooks"}
	if events != nil {
		body["events"] = events
	}
	var made api.WebhookEndpointWithSecret
	b.do(call{method: http.MethodPost, path: "/v1/webhook-endpoints", key: key, body: body}).
		want(http.StatusCreated, &made)
	h.mu.Lock()
	h.endpoint, h.secret = made.Endpoint, made.Secret
	h.mu.Unlock()
	return h
}

// respond sets how the receiver answers from now on.
func (h *hook) respond(answer http.HandlerFunc) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.answer = answer
}

// status answers with a status and nothing else.
func status(code int) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(code) }
}

func (h *hook) deliveries() []delivery {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Clone(h.received)
}

// ids are the messages received, each once.
func (h *hook) ids() []string {
	var ids []string
	for _, d := range h.deliveries() {
		if !slices.Contains(ids, d.id) {
			ids = append(ids, d.id)
		}
	}
	return ids
}

// await waits for the first event of a type about an order.
func (h *hook) await(b *bench, kind string, order uuid.UUID) (found api.WebhookEvent) {
	b.Helper()
	b.eventually(kind, func() bool {
		for _, d := range h.deliveries() {
			if string(d.event.Type) == kind && d.event.Data.OrderID == order {
				found = d.event
				return true
			}
		}
		return false
	})
	return found
}

// awaitCount waits until n deliveries have come.
func (h *hook) awaitCount(b *bench, n int) []delivery {
	b.Helper()
	b.eventually("deliveries", func() bool { return len(h.deliveries()) >= n })
	return h.deliveries()
}

// awaitMessage waits until a message is in a state.
func (b *bench) awaitMessage(id uuid.UUID, want api.MessageStatus) (m api.WebhookMessage) {
	b.Helper()
	b.eventually("message to be "+string(want), func() bool {
		b.get("/v1/webhook-messages/"+id.String()).want(http.StatusOK, &m)
		return m.Status == want
	})
	return m
}
