package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	standard "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"tapeline/api"
	"tapeline/db/dbtest"
	"tapeline/service"
	"tapeline/service/access"
)

// lockedBuffer is written by a command while a test reads it.
type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}

var printedSecret = regexp.MustCompile(`whsec_\S+`)

// localReceiver verifies what is forwarded to it with the secret that the command
// prints, and refuses each message once.
type localReceiver struct {
	*httptest.Server
	printed *lockedBuffer

	mu    sync.Mutex
	seen  map[string]int
	types []string // of the messages accepted
	wrong []string
}

func (r *localReceiver) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	r.mu.Lock()
	defer r.mu.Unlock()
	body, _ := io.ReadAll(req.Body)
	hook, err := standard.NewWebhook(printedSecret.FindString(r.printed.String()))
	if err == nil {
		err = hook.Verify(body, req.Header)
	}
	if err != nil {
		r.wrong = append(r.wrong, err.Error())
	}
	id := req.Header.Get("webhook-id")
	if r.seen[id]++; r.seen[id] == 1 {
		w.WriteHeader(http.StatusServiceUnavailable)
		return
	}
	var e api.WebhookEvent
	if json.Unmarshal(body, &e) == nil {
		r.types = append(r.types, string(e.Type))
	}
	w.WriteHeader(http.StatusNoContent)
}

func (r *localReceiver) accepted() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.types)
}

// serveTests starts a server on a port of its choice, and returns its address with a
// test key of a shop.
func serveTests(t *testing.T) (base, key string) {
	t.Helper()
	var s settings
	fs := newFlags("serve", "", "", os.Stderr)
	s.serveFlags(fs)
	if code, ok := parseSettings(fs, &s, []string{"-database", dbtest.URL(t), "-addr", "127.0.0.1:0"}, os.Stderr); !ok {
		t.Fatal(code)
	}
	server, err := start(t.Context(), s, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := server.stop(context.Background()); err != nil {
			t.Error(err)
		}
	})
	shop, _, err := server.service.Access.EnsureShop(t.Context(), "needle-nook", "Needle Nook")
	if err != nil {
		t.Fatal(err)
	}
	_, key, err = server.service.Access.CreateKey(t.Context(), service.Caller{Shop: shop.ID},
		access.NewKey{Name: "Staging", Role: service.RoleShop, Test: true})
	if err != nil {
		t.Fatal(err)
	}
	return "http://" + server.addr.String(), key
}

// The command forwards what happens to an order, signed with the secret that it
// prints, tries again what is refused, and leaves nothing behind.
func TestListen(t *testing.T) {
	t.Parallel()
	base, key := serveTests(t)
	keyFile := filepath.Join(t.TempDir(), "key")
	if err := os.WriteFile(keyFile, []byte(key+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := &lockedBuffer{}
	receiver := &localReceiver{printed: out, seen: map[string]int{}}
	receiver.Server = httptest.NewServer(receiver)
	defer receiver.Close()
	ctx, interrupt := context.WithCancel(t.Context())
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"listen", "--to", receiver.URL + "/hooks", "--api", base, "--key-file", keyFile},
			strings.NewReader(""), out, out)
	}()
	until := func(what string, done func() bool) {
		t.Helper()
		for deadline := time.Now().Add(time.Minute); !done(); time.Sleep(50 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("waited in vain for %s; it printed\n%s", what, out)
			}
		}
	}
	until("the secret", func() bool { return printedSecret.MatchString(out.String()) })
	d := demo{base: base}
	if err := d.call(t.Context(), http.MethodPost, "/v1/orders", key, []byte(strings.ReplaceAll(demoOrder, "%q",
		`"SHOP-1"`)), nil); err != nil {
		t.Fatal(err)
	}
	until("two messages", func() bool { return len(receiver.accepted()) == 2 })
	interrupt()
	if code := <-ended; code != exitDone {
		t.Errorf("it ended with %d; it printed\n%s", code, out)
	}
	got := receiver.accepted()
	slices.Sort(got)
	if !slices.Equal(got, []string{"order.ready", "order.received"}) || len(receiver.wrong) > 0 {
		t.Errorf("accepted %q, wrong: %q", got, receiver.wrong)
	}
	for _, line := range []string{"order.received SHOP-1 (test)  -> 503, ",
		"order.ready SHOP-1 (test), attempt 2  -> 204, "} {
		if !strings.Contains(out.String(), line) {
			t.Errorf("it did not print %q:\n%s", line, out)
		}
	}
	if n := strings.Count(out.String(), "whsec_"); n != 1 || strings.Contains(out.String(), key) {
		t.Errorf("it printed the secret %d times, or the key:\n%s", n, out)
	}
	var placed api.OrderList
	if err := d.call(t.Context(), http.MethodGet, "/v1/orders", key, nil, &placed); err != nil || len(placed.Items) != 1 {
		t.Fatalf("%d orders, %v", len(placed.Items), err)
	}
	if got := placed.Items[0].Links.Order; !strings.HasPrefix(got, base+"/v1/orders/") {
		t.Errorf("with port 0 an order's address is %s; the server is at %s", got, base)
	}
	var left struct{ Items []api.WebhookMessage }
	if err := d.call(t.Context(), http.MethodGet, "/v1/webhook-messages", key, nil, &left); err != nil {
		t.Fatal(err)
	}
	for _, m := range left.Items {
		if m.Status != api.MessageStatusDelivered {
			t.Errorf("message %s of %s is %s", m.ID, m.Type, m.Status)
		}
	}
}

// Not parallel: it sets the key.
func TestListenRefusals(t *testing.T) {
	t.Setenv("TAPELINE_API_KEY", "")
	empty := filepath.Join(t.TempDir(), "key")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	tapeline(t, "", "listen", "--to", "http://127.0.0.1:1/").want(t, exitUsage,
		"TAPELINE_API_KEY or --key-file is required")
	tapeline(t, "", "listen", "--to", "http://127.0.0.1:1/", "--key-file", empty).want(t, exitUsage, "is empty")
	t.Setenv("TAPELINE_API_KEY", "tl_aaaaaaaa_x")
	tapeline(t, "", "listen").want(t, exitUsage, "--to is required")
	tapeline(t, "", "listen", "--to", "http://127.0.0.1:1/", "--api", "http://127.0.0.1:1").want(t, exitFaults,
		"connection refused")
}
