package main

import (
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

// runRefit previews and applies a refit on many orders of its own server, while other
// calls create orders, read them and fetch patterns, and measures both.
//
// Some orders are created over HTTP; copies of their rows in the database make up the
// number. Creating all would take minutes and measure nothing of a refit.
func runRefit(args []string) error {
	flags := flag.NewFlagSet("load refit", flag.ExitOnError)
	orders := flags.Int("orders", 10_000, "orders to refit")
	placed := flags.Int("placed", 200, "how many of them are created over HTTP; the rest are copies")
	others := flags.Float64("others", 20, "other calls per second")
	most := flags.Duration("most", 5*time.Minute, "maximum time for the preview, and for its application")
	keep := flags.Bool("keep", false, "keep the data folder and print its name")
	if err := flags.Parse(args); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	s, err := startServer(ctx, *keep)
	if err != nil {
		return err
	}
	defer func() { _, _ = s.stop() }()
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
	for _, phase := range [...]struct{ name, state, next string }{{"preview", "previewing", "to_decide"}, {"apply",
		"applying", "done"}} {
		if phase.name == "apply" {
			if err := m.must(ctx, http.MethodPost, "/v1/refits/"+id+"/decide", `{"apply":"all"}`, http.StatusOK,
				nil); err != nil {
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

// refitLoad is a server with a shop that receives its messages.
type refitLoad struct {
	*client
	server   *server
	secret   string
	receiver *httptest.Server
	serial   atomic.Int64
	ids      []string // of orders created over HTTP

	mu      sync.Mutex
	revised map[string]int // messages by order
	broken  error
}

func newRefitLoad(ctx context.Context, s *server) (*refitLoad, error) {
	m := &refitLoad{server: s, revised: map[string]int{}}
	key, err := s.key(ctx, loadShop, "admin")
	if err != nil {
		return nil, err
	}
	m.client = newClient(s.base, key)
	m.receiver = httptest.NewServer(http.HandlerFunc(m.receive))
	m.secret, err = m.listen(ctx, m.receiver.URL, "order.revised")
	return m, err
}

// receive counts order.revised by order.
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

// place creates an order and returns its ID.
func (m *refitLoad) place(ctx context.Context) (string, error) {
	n := m.serial.Add(1)
	var o struct{ ID string }
	err := m.must(ctx, http.MethodPost, "/v1/orders", string(order(n)), http.StatusCreated, &o,
		"Idempotency-Key", fmt.Sprint("refit-", n))
	return o.ID, err
}

// fill creates orders and copies them, each with its customer, measurements and
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
				INSERT INTO copies SELECT o.id, uuid_v7(now() - interval '1 day'), uuid_v7(now() - interval '1 day'),
					uuid_v7(now() - interval '1 day'), g.n
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
	`INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status,
			draft_request, created_by, created_at, updated_at)
		SELECT x.id, o.shop_id, 'COPY-' || x.n, x.customer, x.set, o.source, o.spec, 'received',
			o.draft_request, o.created_by, o.created_at, o.updated_at
		FROM copies x JOIN orders o ON o.id = x.of`,
	`INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, spec, engine, hash, document,
			checks, label, created_at)
		SELECT x.id, d.number, d.shop_id, x.set, d.spec, d.engine, d.hash, d.document, d.checks, d.label, d.created_at
		FROM copies x JOIN draft_revisions d ON d.order_id = x.of`,
	`UPDATE orders o SET status = 'ready', revision = 1 FROM copies x WHERE x.id = o.id`,
}

// warm refits some orders to what they are, so that nothing is done for the
// first time when it counts.
func (m *refitLoad) warm(ctx context.Context) error {
	var r struct{ ID string }
	body, _ := json.Marshal(map[string]any{"change": map[string]any{"engine": map[string]any{}},
		"scope": map[string]any{"orders": m.ids[:min(len(m.ids), 50)]}, "reason": "warming up"})
	if err := m.must(ctx, http.MethodPost, "/v1/refits", string(body), http.StatusCreated, &r); err != nil {
		return err
	}
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var v struct{ State string }
		if err := m.must(ctx, http.MethodGet, "/v1/refits/"+r.ID, "", http.StatusOK, &v); err != nil ||
			v.State == "to_decide" {
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
	err := m.must(ctx, http.MethodPost, "/v1/refits",
		`{"change":{"fit":{"block":"torso","from":"regular","to":"regular","unit":"cm",`+
			`"ease":{"bust_girth":9}}},"reason":"a load test"}`,
		http.StatusCreated, &r)
	fmt.Printf("begun      %d orders taken in %d ms\n", r.Orders, time.Since(began).Milliseconds())
	return r.ID, err
}
