package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"tapeline/db/dbtest"
)

// These tests break the service while orders come in, for real: the process
// and the database are killed with signal 9. Afterwards every accepted order is
// drafted exactly once, every message was delivered under one id, and nothing
// is lost.

// built is the folder of the program that is killed.
var built string

func TestMain(m *testing.M) {
	code := m.Run()
	if built != "" {
		_ = os.RemoveAll(built)
	}
	os.Exit(code)
}

// buildOnce compiles the program.
var buildOnce = sync.OnceValues(func() (string, error) {
	var err error
	if built, err = os.MkdirTemp("", "tapeline-fault-"); err != nil {
		return "", err
	}
	file := filepath.Join(built, "tapeline")
	if out, err := exec.Command("go", "build", "-o", file, "tapeline/cmd/tapeline").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return file, nil
})

// replica is a running `tapeline serve`.
type replica struct {
	base string
	cmd  *exec.Cmd
}

var servesAt = regexp.MustCompile(`serves (http://\S+)`)

// serve starts a replica on a database, or with "" on what the flags or the
// environment name.
func serve(t *testing.T, database string, flags ...string) *replica {
	t.Helper()
	file, err := buildOnce()
	if err != nil {
		t.Fatal(err)
	}
	return serveWith(t, file, nil, database, flags...)
}

// serveWith starts a replica from a program, with more variables in its environment.
func serveWith(t *testing.T, program string, environment []string, database string, flags ...string) *replica {
	t.Helper()
	if database != "" {
		flags = append(flags, "-database", database)
	}
	cmd := exec.Command(program, append([]string{"serve", "-migrate", "-addr", "127.0.0.1:0", "-rate", "0",
		"-private-webhooks", "-job-timeout", "10s", "-log-level", "error"}, flags...)...)
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Env = append(os.Environ(), environment...)
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, _ := bufio.NewReader(stdout).ReadString('\n')
	found := servesAt.FindStringSubmatch(line)
	if found == nil {
		_ = cmd.Process.Kill()
		t.Fatalf("tapeline did not start: %s", said.String())
	}
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	r := &replica{base: found[1], cmd: cmd}
	t.Cleanup(func() {
		_ = r.cmd.Process.Signal(syscall.SIGTERM)
		_ = r.cmd.Wait()
	})
	return r
}

// ahead returns by how much the replica's machine is ahead, by the dates of its
// responses.
func (r *replica) ahead(t *testing.T) time.Duration {
	t.Helper()
	a, err := http.Get(r.base + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	_ = a.Body.Close()
	date, err := http.ParseTime(a.Header.Get("Date"))
	if err != nil {
		t.Fatal(err)
	}
	return time.Until(date)
}

// kill ends the replica as a power cut would.
func (r *replica) kill() {
	_ = r.cmd.Process.Kill()
	_, _ = r.cmd.Process.Wait()
}

// hookReceiver is a shop's webhook receiver.
type hookReceiver struct {
	*httptest.Server
	sync.Mutex
	bodies map[string]string // by webhook-id
	fault  string            // what went wrong in receiving
	ready  map[string]string // order id to webhook-id of order.ready

	revised map[string]string // likewise of order.revised
	taken   map[string]bool   // by webhook-id: answered with 200
	once    bool              // a message that was taken must not come again
	news    chan struct{}     // has a value after a message
}

func newHookReceiver(t *testing.T) *hookReceiver {
	r := &hookReceiver{bodies: map[string]string{}, ready: map[string]string{}, revised: map[string]string{},
		taken: map[string]bool{},
		news:  make(chan struct{}, 1)}
	r.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		body, _ := io.ReadAll(q.Body)
		var event struct {
			Type string
			Data struct {
				OrderID string `json:"order_id"`
			}
		}
		_ = json.Unmarshal(body, &event)
		id := q.Header.Get("webhook-id")
		r.Lock()
		defer r.Unlock()
		if old, ok := r.bodies[id]; ok && old != string(body) {
			r.fault = "one id came with two bodies: " + id
		}
		r.bodies[id] = string(body)
		if r.once && r.taken[id] {
			r.fault = "a message came again after it was taken: " + id
		}
		for kind, told := range map[string]map[string]string{"order.ready": r.ready, "order.revised": r.revised} {
			if event.Type != kind {
				continue
			}
			if old, ok := told[event.Data.OrderID]; ok && old != id {
				r.fault = kind + " was told under two ids: " + event.Data.OrderID
			}
			told[event.Data.OrderID] = id
		}
		select {
		case r.news <- struct{}{}:
		default:
		}
		// A receiver that now and then fails gets the message again.
		if rand.IntN(20) == 0 {
			w.WriteHeader(http.StatusInternalServerError)
		} else {
			r.taken[id] = true
		}
	}))
	t.Cleanup(r.Close)
	return r
}

// shop is a caller that never gives up: it repeats a request under the same key
// until the service answers.
type shop struct {
	*testing.T
	bases [2]atomic.Value // addresses of the replicas, called in turn
	turn  atomic.Int64
	key   string
	http  http.Client

	pace   time.Duration // wait of each caller before an order
	failed atomic.Int64  // calls without a response, or with a 5xx
}

func (s *shop) call(method, path, key string, body string) (int, []byte, error) {
	q, err := http.NewRequest(method, s.bases[s.turn.Add(1)%2].Load().(string)+path, strings.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	q.Header.Set("Authorization", "Bearer "+s.key)
	q.Header.Set("Content-Type", "application/json")
	if key != "" {
		q.Header.Set("Idempotency-Key", key)
	}
	a, err := s.http.Do(q)
	if err != nil {
		return 0, nil, err
	}
	defer a.Body.Close()
	data, err := io.ReadAll(a.Body)
	return a.StatusCode, data, err
}

// until repeats a call until it is answered with a status.
func (s *shop) until(status int, method, path, key, body string) []byte {
	var last string
	for deadline := time.Now().Add(2 * time.Minute); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
		got, data, err := s.call(method, path, key, body)
		if err == nil && got == status {
			return data
		}
		if err == nil && got < 500 && got != http.StatusConflict && got != http.StatusTooManyRequests {
			s.Errorf("%s %s: %d %s", method, path, got, data)
			return nil
		}
		s.failed.Add(1)
		last = fmt.Sprint(got, err, string(data))
	}
	s.Errorf("%s %s: not answered with %d in two minutes, last %s", method, path, status, last)
	return nil
}

// newKey makes a key beside the servers, as an operator does.
func newKey(t *testing.T, database string) string {
	t.Helper()
	file, err := buildOnce()
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(file, "keys", "add", "-database", database, "-shop", "needle-nook", "-role", "admin").Output()
	if err != nil {
		t.Fatalf("keys add: %v", err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return strings.TrimSpace(lines[len(lines)-1])
}

// orders posts n orders from several callers and gives their ids; during is
// called once half of them are accepted.
func (s *shop) orders(n int, during func()) map[string]bool {
	var mu sync.Mutex
	ids := map[string]bool{}
	var next, accepted atomic.Int64
	var wg sync.WaitGroup
	broken := make(chan struct{})
	for range 6 {
		wg.Go(func() {
			for {
				i := next.Add(1)
				if i > int64(n) {
					return
				}
				time.Sleep(s.pace)
				reference := fmt.Sprintf("F-%04d", i)
				data := s.until(http.StatusCreated, "POST", "/v1/orders", fmt.Sprintf("%q", "key-"+reference),
					fmt.Sprintf(demoOrder, reference))
				var o struct{ ID string }
				_ = json.Unmarshal(data, &o)
				mu.Lock()
				ids[o.ID] = true
				mu.Unlock()
				if accepted.Add(1) == int64(n/2) {
					close(broken)
				}
			}
		})
	}
	<-broken
	during()
	wg.Wait()
	return ids
}

// settled waits until every order's message has arrived, and checks that the order
// is ready with one draft.
func (s *shop) settled(ids map[string]bool, n int, r *hookReceiver) {
	s.Helper()
	if len(ids) != n || ids[""] {
		s.Errorf("%d orders accepted, %d ids", n, len(ids))
	}
	limit := time.After(4 * time.Minute) // a killed worker's job continues after half a minute or a whole one
	for missing := r.missing(ids); missing > 0; missing = r.missing(ids) {
		select {
		case <-r.news:
		case <-limit:
			s.Fatalf("no order.ready for %d orders", missing)
		}
	}
	if r.Lock(); r.fault != "" {
		s.Error(r.fault)
	}
	r.Unlock()
	for id := range ids {
		var o struct{ Status string }
		_ = json.Unmarshal(s.until(http.StatusOK, "GET", "/v1/orders/"+id, "", ""), &o)
		var revisions struct{ Items []json.RawMessage }
		_ = json.Unmarshal(s.until(http.StatusOK, "GET", "/v1/orders/"+id+"/revisions", "", ""), &revisions)
		if o.Status != "ready" || len(revisions.Items) != 1 {
			s.Errorf("order %s is %q after %d drafts", id, o.Status, len(revisions.Items))
		}
	}
}

// missing counts the orders without an order.ready.
func (r *hookReceiver) missing(ids map[string]bool) (n int) {
	r.Lock()
	defer r.Unlock()
	for id := range ids {
		if r.ready[id] == "" {
			n++
		}
	}
	return n
}

// faulty is a shop with a receiver on two replicas of one database.
func faulty(t *testing.T) (s *shop, r *hookReceiver, pg *dbtest.Server, replicas *[2]*replica) {
	pg = dbtest.NewServer(t)
	s, r, replicas = faultyOn(t, pg.URL())
	return s, r, pg, replicas
}

// faultyOn is a shop with a receiver on two replicas of a database.
func faultyOn(t *testing.T, database string) (s *shop, r *hookReceiver, replicas *[2]*replica) {
	replicas = &[2]*replica{serve(t, database), serve(t, database)}
	s, r = shopOn(t, database, replicas)
	return s, r, replicas
}

// shopOn is a shop with a receiver on replicas.
func shopOn(t *testing.T, database string, replicas *[2]*replica) (s *shop, r *hookReceiver) {
	s = &shop{T: t, key: newKey(t, database), http: http.Client{Timeout: 20 * time.Second}}
	for i, one := range replicas {
		s.bases[i].Store(one.base)
	}
	r = newHookReceiver(t)
	s.until(http.StatusCreated, "POST", "/v1/webhook-endpoints", "", fmt.Sprintf(`{"url": %q}`, r.URL))
	return s, r
}

const faultOrders = 80

// A replica is killed under load, the other goes on; then both are, and one
// comes back.
func TestKilledUnderLoad(t *testing.T) {
	t.Parallel()
	s, r, pg, replicas := faulty(t)
	ids := s.orders(faultOrders, func() {
		replicas[0].kill()
		<-r.news
		replicas[1].kill()
		fresh := serve(t, pg.URL())
		s.bases[0].Store(fresh.base)
		s.bases[1].Store(fresh.base)
	})
	s.settled(ids, faultOrders, r)
}

// The database is killed under load and comes back on its data.
func TestDatabaseKilledUnderLoad(t *testing.T) {
	t.Parallel()
	s, r, pg, _ := faulty(t)
	ids := s.orders(faultOrders, pg.Kill)
	s.settled(ids, faultOrders, r)
}

// Stopped by a signal under load, a replica hands back what it has not done.
func TestStoppedUnderLoad(t *testing.T) {
	t.Parallel()
	s, r, _, replicas := faulty(t)
	ids := s.orders(faultOrders, func() {
		if err := replicas[0].cmd.Process.Signal(syscall.SIGTERM); err != nil {
			t.Error(err)
		}
		if err := replicas[0].cmd.Wait(); err != nil {
			t.Errorf("asked to stop it ended with %v", err)
		}
		s.bases[0].Store(replicas[1].base)
	})
	s.settled(ids, faultOrders, r)
}
