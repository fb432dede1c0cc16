package api_test

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// languages are those of the sample clients, with the program that runs each.
var languages = map[string]struct{ program, file string }{
	"typescript": {"node", "build/%s.js"},
	"python":     {"python3", "%s.py"},
}

// compiled makes the clients in TypeScript, once.
var compiled sync.Once

// client returns a sample client as a command, with the addresses and keys of the bench.
func (b *bench) client(language, name string, env ...string) *exec.Cmd {
	b.Helper()
	l := languages[language]
	reader(b.T, l.program)
	dir, err := filepath.Abs(filepath.Join("clients", language))
	b.must(err)
	if language == "typescript" {
		installed(b.T, dir)
		compiled.Do(func() {
			npx(b.T, dir, "openapi-typescript", "../../openapi.yaml", "-o", "schema.d.ts")
			npx(b.T, dir, "tsc")
		})
	}
	cmd := exec.CommandContext(b.Context(), l.program, fmt.Sprintf(l.file, name))
	cmd.Dir = dir
	cmd.Env = append(append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1", "TAPELINE_URL="+b.URL,
		"TAPELINE_KEY="+b.keys[service.RoleShop], "TAPELINE_STAFF_KEY="+b.keys[service.RoleStaff]), env...)
	return cmd
}

// clientServer starts a sample client that listens on a port, and returns its lines.
func (b *bench) clientServer(port, language, name string, env ...string) <-chan string {
	b.Helper()
	cmd := b.client(language, name, append(env, "PORT="+port)...)
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 5 * time.Second
	cmd.Stderr = b.log
	out, err := cmd.StdoutPipe()
	b.must(err)
	b.must(cmd.Start())
	b.Cleanup(func() { _ = cmd.Wait() }) // interrupted at the test's end
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		for s := bufio.NewScanner(out); s.Scan(); {
			lines <- s.Text()
		}
	}()
	b.awaitLine(lines, "listening")
	return lines
}

func (b *bench) awaitLine(lines <-chan string, want string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.Context(), 20*time.Second)
	defer cancel()
	for {
		select {
		case line, ok := <-lines:
			if strings.HasPrefix(line, want) {
				return
			}
			if !ok {
				b.Fatalf("the client ended before %q:\n%s", want, b.log.tail())
			}
		case <-ctx.Done():
			b.Fatalf("no line %q", want)
		}
	}
}

// freePort returns a port on which nothing listens.
func (b *bench) freePort() string {
	b.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	b.must(err)
	_, port, err := net.SplitHostPort(listener.Addr().String())
	b.must(err)
	b.must(listener.Close())
	return port
}

// The order of each language is placed, held with a question, answered, downloaded,
// corrected and refitted; another is held and cancelled, and a test order answered.
func TestSampleOrders(t *testing.T) {
	t.Parallel()
	for language := range languages {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			b := setup(t)
			var test api.APIKeyWithSecret
			b.post("/v1/api-keys", object{"name": "Tests", "role": "shop", "test": true}).want(http.StatusCreated, &test)
			out, err := b.client(language, "orders", "TAPELINE_TEST_KEY="+test.Secret).CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			lines := strings.Split(strings.TrimSpace(string(out)), "\n")
			want := []string{"placed: held, revision none", "", "answered: ready, revision 1", "downloaded: %PDF-",
				"corrected: ready, revision 2", "refit: revised", "held: held, revision 1", "cancelled: cancelled, revision 1",
				"test order: ready, revision 1"}
			if len(lines) > 1 && strings.HasSuffix(lines[1], "?") {
				lines[1] = ""
			}
			if !slices.Equal(lines, want) {
				t.Fatalf("it says\n%s", out)
			}
			var orders api.OrderList
			b.get("/v1/orders?status=ready").want(http.StatusOK, &orders)
			if len(orders.Items) != 1 || orders.Items[0].Revision != 3 {
				t.Fatalf("orders: %+v", orders.Items)
			}
			var set api.MeasurementSet
			b.get("/v1/measurement-sets/"+orders.Items[0].MeasurementSetID.String()).want(http.StatusOK, &set)
			if set.Measurements["waist_girth"] != 74 || set.Measurements["arm_length"] != 59 {
				t.Errorf("measurements: %+v", set.Measurements)
			}
		})
	}
}

// The receiver of each language takes what is signed, once, and nothing besides.
func TestSampleHooks(t *testing.T) {
	t.Parallel()
	for language := range languages {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			b := setup(t)
			port := b.freePort()
			address := "http://127.0.0.1:" + port + "/hooks"
			var made api.WebhookEndpointWithSecret
			b.post("/v1/webhook-endpoints", object{"url": address}).want(http.StatusCreated, &made)
			lines := b.clientServer(port, language, "hooks", "TAPELINE_WEBHOOK_SECRET="+made.Secret)
			o := b.ready("LL-1042")
			b.awaitLine(lines, "order.received LL-1042")
			b.awaitLine(lines, "order.ready LL-1042")

			// The same message again is accepted and does nothing.
			var list api.WebhookMessageList
			b.get("/v1/webhook-messages?type=order.ready&order_id="+o.ID.String()).want(http.StatusOK, &list)
			id := list.Items[0].ID
			b.awaitMessage(id, api.MessageStatusDelivered)
			b.post("/v1/webhook-messages/"+id.String()+"/replay", nil).want(http.StatusAccepted, nil)
			b.awaitMessage(id, api.MessageStatusDelivered)

			for _, headers := range []http.Header{
				{},
				{"Webhook-Id": {uuid.NewString()}, "Webhook-Timestamp": {fmt.Sprint(time.Now().Unix())},
					"Webhook-Signature": {"v1,bm90IHNpZ25lZA=="}},
			} {
				r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, address,
					strings.NewReader(`{"type": "order.ready"}`))
				b.must(err)
				r.Header = headers
				res, err := http.DefaultClient.Do(r)
				b.must(err)
				b.must(res.Body.Close())
				if res.StatusCode != http.StatusUnauthorized {
					t.Errorf("a message without a right signature got %d", res.StatusCode)
				}
			}
			b.placed("LL-1043")
			for line := range lines {
				if line == "order.received LL-1043" {
					break
				}
				t.Errorf("the receiver took %q", line)
			}
		})
	}
}
