package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"sync"
	"sync/atomic"
	"time"

	"tapeline/service/webhooks"
)

// loadShop is the shop whose orders are measured.
const loadShop = "load-row"

// measurement is a run.
type measurement struct {
	*client
	secret   string
	receiver *httptest.Server

	serial   atomic.Int64
	running  sync.WaitGroup
	mu       sync.Mutex
	waiting  map[string]waiting // orders that are not ready yet, by id
	early    map[string]bool    // ready before we knew the id
	accepted int
	fetched  int
	problems []string

	create, ready, pdf, same timings
	webhook                  timings // from the event to its receipt
	used                     cpu
}

type waiting struct{ posted time.Time }

func newRun(ctx context.Context, s *server) (*measurement, error) {
	m := &measurement{waiting: map[string]waiting{}, early: map[string]bool{}}
	m.receiver = httptest.NewServer(http.HandlerFunc(m.receive))
	admin, err := s.key(ctx, loadShop, "admin")
	if err != nil {
		return nil, err
	}
	key, err := s.key(ctx, loadShop, "shop")
	if err != nil {
		return nil, err
	}
	m.client = newClient(s.base, key)
	for _, p := range s.others {
		m.others = append(m.others, p.base)
	}
	m.secret, err = newClient(s.base, admin).listen(ctx, m.receiver.URL)
	return m, err
}

// order returns the body of an order, slightly different for each n, as customers are.
func order(n int64) []byte {
	grow := float64(n%41) / 10
	return fmt.Appendf(nil, `{"reference":"LOAD-%d","customer":{"reference":"C-%d","name":"Mara Vell"},"unit":"cm",
		"measurements":{"bust_girth":%.1f,"waist_girth":%.1f,"hip_girth":%.1f,"neck_base_girth":37,
		"shoulder_length":12.6,"back_width":35,"nape_to_waist":41,"waist_to_hip":20.5,
		"upper_arm_girth":29,"wrist_girth":16,"arm_length":58},
		"block":"torso","fit":"regular","choices":{"length":"hip"},
		"allowances":{"default":1.5,"hem":3}}`, n, n, 90+grow, 72+grow, 96+grow)
}

// place creates an order.
func (m *measurement) place(ctx context.Context) {
	n := m.serial.Add(1)
	began := time.Now()
	r, err := m.call(ctx, http.MethodPost, "/v1/orders", order(n), "Idempotency-Key", fmt.Sprint("load-", n))
	took := time.Since(began)
	if err != nil || r.status != http.StatusCreated {
		m.problem("create: %d %.300s %v", r.status, r.body, err)
		return
	}
	var placed struct{ ID string }
	if err := json.Unmarshal(r.body, &placed); err != nil {
		m.problem("create: %v", err)
		return
	}
	m.create.add(took)
	m.mu.Lock()
	m.accepted++
	isReady := m.early[placed.ID]
	if isReady {
		delete(m.early, placed.ID)
	} else {
		m.waiting[placed.ID] = waiting{began}
	}
	m.mu.Unlock()
	if isReady {
		m.fetch(ctx, placed.ID, began)
	}
}

// receive verifies webhooks and fetches the patterns of ready orders.
func (m *measurement) receive(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err == nil {
		err = webhooks.Verify([]string{m.secret}, r.Header, body, time.Now())
	}
	if err != nil {
		m.problem("webhook: %v", err)
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	w.WriteHeader(http.StatusNoContent)
	var e struct {
		Type      string
		Timestamp time.Time
		Data      struct {
			OrderID string `json:"order_id"`
		}
	}
	if err := json.Unmarshal(body, &e); err != nil {
		m.problem("webhook: %v", err)
		return
	}
	m.webhook.add(time.Since(e.Timestamp))
	switch e.Type {
	case "order.received":
	case "order.ready":
		m.mu.Lock()
		order, known := m.waiting[e.Data.OrderID]
		if known {
			delete(m.waiting, e.Data.OrderID)
		} else {
			m.early[e.Data.OrderID] = true
		}
		m.mu.Unlock()
		if known {
			m.running.Go(func() { m.fetch(context.Background(), e.Data.OrderID, order.posted) })
		}
	default:
		m.problem("webhook %s", e.Type)
	}
}

// fetch fetches an order's pattern, then again with its ETag.
func (m *measurement) fetch(ctx context.Context, id string, posted time.Time) {
	m.ready.add(time.Since(posted))
	path := "/v1/orders/" + id + "/pattern.pdf?paper=a4"
	began := time.Now()
	r, err := m.call(ctx, http.MethodGet, path, nil)
	if err != nil || r.status != http.StatusOK || !bytes.HasPrefix(r.body, []byte("%PDF-")) {
		m.problem("pattern: %d %.200s %v", r.status, r.body, err)
		return
	}
	m.pdf.add(time.Since(began))
	began = time.Now()
	r, err = m.call(ctx, http.MethodGet, path, nil, "If-None-Match", r.etag)
	if err != nil || r.status != http.StatusNotModified {
		m.problem("pattern again: %d %v", r.status, err)
		return
	}
	m.same.add(time.Since(began))
	m.mu.Lock()
	m.fetched++
	m.mu.Unlock()
}

func (m *measurement) problem(format string, args ...any) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.problems = append(m.problems, fmt.Sprintf(format, args...))
}

// warmUp processes a few orders and discards their times.
func (m *measurement) warmUp(ctx context.Context) {
	for range 20 {
		m.place(ctx)
	}
	m.finish(ctx)
	m.create, m.ready, m.pdf, m.same, m.webhook = timings{}, timings{}, timings{}, timings{}, timings{}
	m.accepted, m.fetched = 0, 0
}

// steadily creates orders at a rate, whether the earlier ones are done or not.
func (m *measurement) steadily(ctx context.Context, rate float64, length time.Duration) {
	began := time.Now()
	for i := 0; ; i++ {
		due := time.Duration(float64(i) / rate * float64(time.Second))
		if due >= length || ctx.Err() != nil {
			return
		}
		time.Sleep(time.Until(began.Add(due)))
		m.running.Go(func() { m.place(ctx) })
	}
}

// fullSpeed has callers create one order after another. At most 200 orders are in
// progress, a few seconds' work.
func (m *measurement) fullSpeed(ctx context.Context, callers int, length time.Duration) {
	end := time.Now().Add(length)
	var wg sync.WaitGroup
	for range callers {
		wg.Go(func() {
			for time.Now().Before(end) && ctx.Err() == nil {
				if m.backlog() > 200 {
					time.Sleep(5 * time.Millisecond)
					continue
				}
				m.place(ctx)
			}
		})
	}
	wg.Wait()
}

func (m *measurement) backlog() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.accepted - m.fetched
}

// finish waits until the pattern of every accepted order was fetched.
func (m *measurement) finish(ctx context.Context) {
	m.running.Wait()
	for end := time.Now().Add(time.Minute); m.backlog() > 0 && time.Now().Before(end) && ctx.Err() == nil; {
		time.Sleep(5 * time.Millisecond)
	}
	m.running.Wait()
}
