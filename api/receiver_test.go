package api_test

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
)

// bad are ways in which a receiver fails a message.
var bad = []struct {
	name   string
	answer http.HandlerFunc
}{
	{"500", status(http.StatusInternalServerError)},
	{"404", status(http.StatusNotFound)},
	{"redirect", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "http://127.0.0.1:1/elsewhere", http.StatusFound)
	}},
	{"garbage instead of HTTP", hijacked("\x00\xff\x13garbage\r\n\r\n")},
	{"a status that is none", hijacked("HTTP/1.1 9999 Odd\r\nContent-Length: -7\r\n\r\n")},
	{"half an answer", hijacked("HTTP/1.1 20")},
	{"no answer", hijacked("")},
	{"endless headers", hijacked("HTTP/1.1 200 OK\r\n" + strings.Repeat("X-Long: "+strings.Repeat("x", 1000)+"\r\n",
		100))},
}

// hijacked writes to the bare connection and closes it.
func hijacked(text string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		c, _, err := w.(http.Hijacker).Hijack()
		if err != nil {
			return
		}
		_, _ = io.WriteString(c, text)
		_ = c.Close()
	}
}

// A receiver that fails each message once, in every way, has them all in the
// end, each under one id.
func TestReceiverFailsInEveryWay(t *testing.T) {
	t.Parallel()
	b := setup(t)
	h := b.listen()
	seen := map[string]int{}
	var way int
	h.respond(func(w http.ResponseWriter, r *http.Request) {
		h.mu.Lock()
		id := r.Header.Get("webhook-id")
		seen[id]++
		first := seen[id] == 1
		if first {
			way++
		}
		answer := bad[way%len(bad)].answer
		h.mu.Unlock()
		if first {
			answer(w, r)
			return
		}
		w.WriteHeader(http.StatusOK)
	})
	var orders []uuid.UUID
	for i := range len(bad) { // two messages each: every way is met twice
		orders = append(orders, b.placed(fmt.Sprint("LL-", i)).ID)
	}
	for _, id := range orders {
		var list api.WebhookMessageList
		b.eventually("messages of an order to be delivered", func() bool {
			b.get("/v1/webhook-messages?order_id="+id.String()).want(http.StatusOK, &list)
			for _, m := range list.Items {
				if m.Status != api.MessageStatusDelivered {
					return false
				}
			}
			return len(list.Items) == 2
		})
		for _, m := range list.Items {
			if m.Attempts != 2 {
				t.Errorf("message %s took %d attempts, want 2", m.ID, m.Attempts)
			}
			var attempts api.WebhookAttemptList
			b.get("/v1/webhook-messages/"+m.ID.String()+"/attempts").want(http.StatusOK, &attempts)
			if o := attempts.Items[0].Outcome; o != "refused" && o != "no_answer" {
				t.Errorf("the first attempt was %q", o)
			}
		}
	}
	if n := len(h.ids()); n != 2*len(orders) {
		t.Errorf("%d messages for %d orders", n, len(orders))
	}
}

// A receiver that is not there when an order becomes ready has the message
// once it is.
func TestReceiverDownForAWhile(t *testing.T) {
	t.Parallel()
	b := setup(t)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	b.must(err)
	address := listener.Addr().String()
	b.must(listener.Close())
	b.post("/v1/webhook-endpoints", object{"url": "http://" + address,
		"events": []string{"order.ready"}}).want(http.StatusCreated, nil)
	o := b.ready("LL-1")
	var list api.WebhookMessageList
	b.eventually("an attempt to fail", func() bool {
		b.get("/v1/webhook-messages?order_id="+o.ID.String()).want(http.StatusOK, &list)
		return len(list.Items) == 1 && list.Items[0].Attempts == 1
	})
	listener, err = net.Listen("tcp", address)
	b.must(err)
	received := make(chan string, 10)
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter,
		r *http.Request) {
		received <- r.Header.Get("webhook-id")
	}))
	b.must(server.Listener.Close())
	server.Listener = listener
	server.Start()
	t.Cleanup(server.Close)
	select {
	case id := <-received:
		if id != list.Items[0].ID.String() {
			t.Errorf("message %s came as %s", list.Items[0].ID, id)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("the message never came")
	}
	b.awaitMessage(list.Items[0].ID, api.MessageStatusDelivered)
}
