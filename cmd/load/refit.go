package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"tapeline/service/webhooks"
)

// Targets of a refit of 10,000 orders on two cores.
const (
	targetRefitRate   = 150.0 // orders a second, previewed and applied
	targetRefitMemory = 250 << 20
	targetOtherP99    = 150 * time.Millisecond
)

// runRefit previews and applies a refit on many orders of a server of its own,
// while others place orders, read them and fetch patterns, and measures both.
//
// The orders are real ones, placed over HTTP, of which rows are then copied in
// the database until there are as many as asked for: taking all of them in
// would take minutes and measure nothing of a refit.
func runRefit(args []string) error {
	flags := flag.NewFlagSet("load refit", flag.ExitOnError)
	orders := flags.Int("orders", 10_000, "orders to refit")
	placed := flags.Int("placed", 200, "of them, how many are placed; the rest are copies of those")
	others := flags.Float64("others", 20, "other calls a second meanwhile")
	most := flags.Duration("most", 5*time.Minute, "longest time for the preview, and for the applying")
	keep := flags.Bool("keep", false, "keep the data folder and say where it is")
	if err := flags.Parse(args); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	s, err := startServer(ctx, *keep)
	if err != nil {
		return err
	}
	defer s.stop()
	m, err := newRefitLoad(ctx, s)
	if err != nil {
		return err
	}
	defer m.receiver.Close()
	if err := m.fill(ctx, *placed, *orders); err != nil {
		return err
	}
	if err := m.warm(ctx); err != nil {
		return err
	}
	var missed []error
	id, err := m.begin(ctx)
	if err != nil {
		return err
	}
	for _, phase := range [...]struct{ name, state, next string }{{"preview", "previewing", "to_decide"}, {"apply", "applying", "done"}} {
		if phase.name == "apply" {
			if err := m.must(ctx, http.MethodPost, "/v1/refits/"+id+"/decide", `{"apply":"all"}`, http.StatusOK, nil); err != nil {
				return err
			}
		}
		f, err := m.follow(ctx, id, phase.state, phase.next, *others, *most)
		if err != nil {
			return err
		}
		missed = append(missed, f.report(phase.name, *orders)...)
	}
	return errors.Join(append(missed, m.settle(ctx, id, *orders)...)...)
}

// refitLoad is a server with a shop that listens to its messages.
type refitLoad struct {
	server   *server
	client   *http.Client
	key      string
	secret   string
	receiver *httptest.Server
	serial   atomic.Int64
	ids      []string // of orders placed

	mu      sync.Mutex
	revised map[string]int // messages by order
	broken  error
}

func newRefitLoad(ctx context.Context, s *server) (*refitLoad, error) {
	m := &refitLoad{server: s, revised: map[string]int{},
		client: &http.Client{Timeout: 60 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 64}}}
	var err error
	if m.key, err = s.key(ctx, "admin"); err != nil {
		return nil, err
	}
	m.receiver = httptest.NewServer(http.HandlerFunc(m.receive))
	var made struct{ Secret string }
	err = m.must(ctx, http.MethodPost, "/v1/webhook-endpoints", fmt.Sprintf(`{"url":%q,"events":["order.revised"]}`, m.receiver.URL), http.StatusCreated, &made)
	m.secret = made.Secret
	return m, err
}

// receive counts order.revised, by webhook-id once.
func (m *refitLoad) receive(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err == nil {
		err = webhooks.Verify([]string{m.secret}, r.Header, body, time.Now())
	}
	var e struct {
		Data struct {
			OrderID  string `json:"order_id"`
			Revision int
			Previous int `json:"previous_revision"`
		}
	}
	if err == nil {
		err = json.Unmarshal(body, &e)
	}
	if err == nil && e.Data.Revision != e.Data.Previous+1 {
		err = fmt.Errorf("revision %d after %d", e.Data.Revision, e.Data.Previous)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if err != nil {
		m.broken = err
	}
	m.revised[e.Data.OrderID]++
	w.WriteHeader(http.StatusNoContent)
}

// call makes a call and gives its status and body.
func (m *refitLoad) call(ctx context.Context, method, path, body string, header map[string]string) (int, []byte, error) {
	r, err := http.NewRequestWithContext(ctx, method, m.server.base+path, bytes.NewReader([]byte(body)))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Authorization", "Bearer "+m.key)
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for name, v := range header {
		r.Header.Set(name, v)
	}
	res, err := m.client.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	return res.StatusCode, data, err
}

func (m *refitLoad) must(ctx context.Context, method, path, body string, status int, into any) error {
	got, data, err := m.call(ctx, method, path, body, nil)
	if err == nil && got != status {
		err = fmt.Errorf("%s %s: %d %.300s", method, path, got, data)
	}
	if err == nil && into != nil {
		err = json.Unmarshal(data, into)
	}
	return err
}

// place posts an order and gives its id.
func (m *refitLoad) place(ctx context.Context) (string, error) {
	n := m.serial.Add(1)
	status, data, err := m.call(ctx, http.MethodPost, "/v1/orders", string(order(n)), map[string]string{"Idempotency-Key": fmt.Sprint("refit-", n)})
	if err == nil && status != http.StatusCreated {
		err = fmt.Errorf("place: %d %.300s", status, data)
	}
	var o struct{ ID string }
	return o.ID, errors.Join(err, json.Unmarshal(data, &o))
}

// fill places orders and copies them, each with its customer, measurements and
// draft, until there are as many as wanted.
func (m *refitLoad) fill(ctx context.Context, placed, wanted int) error {
	for range placed {
		id, err := m.place(ctx)
		if err != nil {
			return err
		}
		m.ids = append(m.ids, id)
	}
	for _, id := range m.ids {
		for o := (struct{ Status string }{}); o.Status != "ready"; time.Sleep(5 * time.Millisecond) {
			if err := m.must(ctx, http.MethodGet, "/v1/orders/"+id, "", http.StatusOK, &o); err != nil {
				return err
			}
			if o.Status == "held" || o.Status == "failed" {
				return fmt.Errorf("order %s is %s", id, o.Status)
			}
		}
	}
	url, err := m.server.databaseURL()
	if err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	tx, err := conn.Begin(ctx)
	if err != nil {
		return err
	}
	for _, sql := range copyOrders {
		if _, err := tx.Exec(ctx, sql); err != nil {
			return fmt.Errorf("copy orders: %w", err)
		}
		if sql == copyOrders[0] {
			if _, err := tx.Exec(ctx, `
				INSERT INTO copies SELECT o.id, uuid_v7(now() - interval '1 day'), uuid_v7(now() - interval '1 day'), uuid_v7(now() - interval '1 day'), g.n
				FROM (SELECT id, row_number() OVER (ORDER BY id) - 1 AS at, count(*) OVER () AS total FROM orders) o
				JOIN generate_series(1, $1::int) g (n) ON g.n % o.total = o.at`, wanted-placed); err != nil {
				return fmt.Errorf("copy orders: %w", err)
			}
		}
	}
	if err := tx.Commit(ctx); err != nil {
		return err
	}
	_, err = conn.Exec(ctx, `ANALYZE`)
	return err
}

// copyOrders are the statements that copy what table copies says. An order
// starts received and is then ready, as its trigger wants it.
var copyOrders = []string{
	`CREATE TEMPORARY TABLE copies (of uuid, id uuid, customer uuid, set uuid, n int)`,
	`INSERT INTO customers (id, shop_id, reference, name, sets, created_at, updated_at)
		SELECT x.customer, c.shop_id, 'COPY-' || x.n, c.name, c.sets, c.created_at, c.updated_at
		FROM copies x JOIN orders o ON o.id = x.of JOIN customers c ON c.id = o.customer_id`,
	`INSERT INTO measurement_sets (id, shop_id, customer_id, version, unit, given, report, created_by, created_at)
		SELECT x.set, m.shop_id, x.customer, m.version, m.unit, m.given, m.report, m.created_by, m.created_at
		FROM copies x JOIN orders o ON o.id = x.of JOIN measurement_sets m ON m.id = o.measurement_set_id`,
	`INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status, draft_request, created_by, created_at, updated_at)
		SELECT x.id, o.shop_id, 'COPY-' || x.n, x.customer, x.set, o.source, o.spec, 'received', o.draft_request, o.created_by, o.created_at, o.updated_at
		FROM copies x JOIN orders o ON o.id = x.of`,
	`INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, spec, engine, hash, geometry, checks, label, created_at)
		SELECT x.id, d.number, d.shop_id, x.set, d.spec, d.engine, d.hash, d.geometry, d.checks, d.label, d.created_at
		FROM copies x JOIN draft_revisions d ON d.order_id = x.of`,
	`UPDATE orders o SET status = 'ready', revision = 1 FROM copies x WHERE x.id = o.id`,
}

// warm refits some orders to what they are, so that nothing is done for the
// first time when it counts.
func (m *refitLoad) warm(ctx context.Context) error {
	var r struct{ ID string }
	body, _ := json.Marshal(map[string]any{"change": map[string]any{"engine": map[string]any{}}, "scope": map[string]any{"orders": m.ids[:min(len(m.ids), 50)]}, "reason": "warming up"})
	if err := m.must(ctx, http.MethodPost, "/v1/refits", string(body), http.StatusCreated, &r); err != nil {
		return err
	}
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var v struct{ State string }
		if err := m.must(ctx, http.MethodGet, "/v1/refits/"+r.ID, "", http.StatusOK, &v); err != nil || v.State == "to_decide" {
			return err
		}
	}
	return errors.New("the warming up did not end")
}

func (m *refitLoad) begin(ctx context.Context) (string, error) {
	var r struct {
		ID     string
		Orders int
	}
	began := time.Now()
	err := m.must(ctx, http.MethodPost, "/v1/refits", `{"change":{"fit":{"block":"torso","from":"regular","to":"regular","unit":"cm","ease":{"bust_girth":9}}},"reason":"a load test"}`,
		http.StatusCreated, &r)
	fmt.Printf("begun      %d orders taken in %d ms\n", r.Orders, time.Since(began).Milliseconds())
	return r.ID, err
}
