package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"
)

// followed holds the figures of a refit in one status.
type followed struct {
	took   time.Duration
	used   cpu
	memory []int64 // resident, at each quarter of the orders
	peak   int64
	other  map[string]*timings // calls meanwhile, by what they do
	load   string              // of the machine, before
	failed []error
}

// follow waits until a refit has left a status, making other calls meanwhile.
func (m *refitLoad) follow(ctx context.Context, id, state, next string, others float64,
	most time.Duration) (*followed, error) {
	f := &followed{other: map[string]*timings{}, load: machineLoad()}
	memory := m.server.watchMemory(ctx)
	before, began := m.server.cpu(), time.Now()
	calls, stop := context.WithCancel(ctx)
	var running sync.WaitGroup
	running.Go(func() { m.others(calls, f, others) })
	defer running.Wait()
	defer stop()
	for {
		var r struct {
			Status string
			Work   struct{ Done, Total int }
		}
		if err := m.must(ctx, http.MethodGet, "/v1/refits/"+id, "", http.StatusOK, &r); err != nil {
			return nil, err
		}
		if r.Status != state {
			f.took = time.Since(began)
			after := m.server.cpu()
			f.used, f.peak = cpu{after.server - before.server, after.postgres - before.postgres}, memory()
			f.memory = append(f.memory, m.server.resident())
			if r.Status != next {
				return nil, fmt.Errorf("the refit is %s", r.Status)
			}
			return f, nil
		}
		if p := r.Work; p.Total > 0 && p.Done*4/p.Total > len(f.memory) {
			f.memory = append(f.memory, m.server.resident())
		}
		if time.Since(began) > most {
			return nil, fmt.Errorf("still %s after %s: %d of %d", state, most, r.Work.Done, r.Work.Total)
		}
		time.Sleep(250 * time.Millisecond)
	}
}

// others makes calls at a steady rate: reads and lists orders, fetches patterns, and
// sometimes creates an order.
func (m *refitLoad) others(ctx context.Context, f *followed, rate float64) {
	var mu sync.Mutex
	record := func(what string, took time.Duration, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			if ctx.Err() == nil {
				f.failed = append(f.failed, err)
			}
			return
		}
		if f.other[what] == nil {
			f.other[what] = &timings{}
		}
		f.other[what].add(took)
	}
	var running sync.WaitGroup
	defer running.Wait()
	began := time.Now()
	for i := 0; ctx.Err() == nil; i++ {
		time.Sleep(time.Until(began.Add(time.Duration(float64(i) / rate * float64(time.Second)))))
		running.Go(func() {
			id := m.ids[rand.IntN(len(m.ids))]
			start := time.Now()
			var what string
			var err error
			switch i % 10 {
			case 0:
				what = "create an order"
				_, err = m.place(ctx)
			case 1, 2:
				what = "fetch a pattern"
				err = m.must(ctx, http.MethodGet, "/v1/orders/"+id+"/pattern.pdf?paper=a4", "", http.StatusOK, nil)
			case 3, 4, 5:
				what = "list orders"
				err = m.must(ctx, http.MethodGet, "/v1/orders?limit=20", "", http.StatusOK, nil)
			default:
				what = "read an order"
				err = m.must(ctx, http.MethodGet, "/v1/orders/"+id, "", http.StatusOK, nil)
			}
			record(what, time.Since(start), err)
		})
	}
}

// report prints what was measured and gives what misses its target.
func (f *followed) report(name string, orders int) []error {
	rate := float64(orders) / f.took.Seconds()
	each := func(d time.Duration) float64 { return d.Seconds() * 1000 / float64(orders) }
	fmt.Printf("%-10s %d orders in %.1f s: %.1f orders/s; %.2f ms of a core each in tapeline, %.2f ms in Postgres, "+
		"calls and messages included\n",
		name, orders, f.took.Seconds(), rate, each(f.used.server), each(f.used.postgres))
	var quarters []string
	for _, m := range f.memory {
		quarters = append(quarters, fmt.Sprint(m>>20))
	}
	fmt.Printf("  memory   %s MB resident along the way, %d at most; machine before: %s\n", strings.Join(quarters, ", "),
		f.peak>>20, f.load)
	var all timings
	for _, what := range []string{"read an order", "list orders", "fetch a pattern", "place an order"} {
		if t := f.other[what]; t != nil {
			fmt.Printf("  %-16s %s\n", what, t)
			all.took = append(all.took, t.took...)
		}
	}
	fmt.Printf("  %-16s %s\n", "all calls", &all)
	missed := f.failed
	miss := func(bad bool, format string, args ...any) {
		if bad {
			missed = append(missed, fmt.Errorf(name+": "+format, args...))
		}
	}
	miss(rate < targetRefitRate, "%.1f orders/s of %.0f", rate, targetRefitRate)
	miss(f.peak > targetRefitMemory, "memory %d MB, target %d MB", f.peak>>20, targetRefitMemory>>20)
	miss(all.at(.99) > targetOtherP99, "other calls p99 %s, target %s", all.at(.99), targetOtherP99)
	return missed
}

// settle waits for the messages and checks that every order has one new draft and
// one message.
func (m *refitLoad) settle(ctx context.Context, id string, orders int) (missed []error) {
	var r struct{ Outcomes map[string]int }
	if err := m.must(ctx, http.MethodGet, "/v1/refits/"+id, "", http.StatusOK, &r); err != nil {
		return []error{err}
	}
	told := func() int {
		m.mu.Lock()
		defer m.mu.Unlock()
		return len(m.revised)
	}
	for end := time.Now().Add(3 * time.Minute); told() < orders && time.Now().Before(end) && ctx.Err() == nil; {
		time.Sleep(100 * time.Millisecond)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	twice := 0
	for _, n := range m.revised {
		if n > 1 {
			twice++
		}
	}
	fmt.Printf("outcomes   %v; %d orders with a message, %d of them with more than one\n", r.Outcomes, len(m.revised),
		twice)
	if r.Outcomes["revised"] != orders || len(m.revised) != orders || twice > 0 || m.broken != nil {
		missed = append(missed, fmt.Errorf("not every one of %d orders was revised with one message: %w", orders,
			errors.Join(m.broken, errors.New("see above"))))
	}
	return missed
}

// machineLoad returns the load of the machine (proc(5): loadavg).
func machineLoad() string {
	load, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "unknown"
	}
	return "load " + strings.Join(strings.Fields(string(load))[:3], " ")
}
