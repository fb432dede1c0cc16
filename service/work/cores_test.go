package work_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/uuid"

	"tapeline/service/work"
)

const step = 10 * time.Millisecond

func newCores(processors int) *work.Cores {
	return work.NewCores(work.Options{Processors: processors})
}

var shops = [...]uuid.UUID{{1}, {2}, {3}}

// bench runs pieces of work that take a while of the bubble's clock, and notes
// in which order they end.
type bench struct {
	t     *testing.T
	cores *work.Cores
	begun time.Time

	wg    sync.WaitGroup
	mu    sync.Mutex
	order []string
	ended map[string]time.Duration
}

func run(t *testing.T, processors int, do func(*bench)) *bench {
	t.Helper()
	b := &bench{t: t, cores: newCores(processors), ended: map[string]time.Duration{}}
	synctest.Test(t, func(t *testing.T) {
		b.t, b.begun = t, time.Now()
		do(b)
		b.wg.Wait()
	})
	b.t = t
	return b
}

// start begins a piece of work, and returns once it runs or waits.
func (b *bench) start(name string, class work.Class, shop uuid.UUID, took time.Duration) {
	b.wg.Go(func() {
		err := b.cores.Do(b.t.Context(), class, shop, func(context.Context) error { time.Sleep(took); return nil })
		if err != nil {
			b.t.Errorf("%s: %v", name, err)
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		b.order = append(b.order, name)
		b.ended[name] = time.Since(b.begun)
	})
	synctest.Wait()
}

func (b *bench) want(order ...string) {
	b.t.Helper()
	if !slices.Equal(b.order, order) {
		b.t.Errorf("done in the order %v, want %v", b.order, order)
	}
}

func (b *bench) wantAt(name string, want time.Duration) {
	b.t.Helper()
	if got := b.ended[name]; got != want {
		b.t.Errorf("%s is done after %v, want %v", name, got, want)
	}
}

func TestRequestsGoBeforeOrdersBeforeBulk(t *testing.T) {
	t.Parallel()
	b := run(t, 2, func(b *bench) {
		b.start("first", work.Request, shops[0], step/10)
		b.start("bulk", work.Bulk, shops[0], step/10)
		b.start("order", work.Order, shops[0], step/10)
		b.start("request", work.Request, shops[0], step/10)
	})
	b.want("first", "request", "order", "bulk")
}

func TestRequestsAndOrdersLeaveOneProcessor(t *testing.T) {
	t.Parallel()
	b := run(t, 3, func(b *bench) {
		b.start("a", work.Request, shops[0], step)
		b.start("b", work.Order, shops[0], step)
		b.start("c", work.Request, shops[0], step)
	})
	b.wantAt("a", step)
	b.wantAt("b", step)
	b.wantAt("c", 2*step)
}

func TestBulkHasAllProcessorsWhileNothingElseWantsOne(t *testing.T) {
	t.Parallel()
	b := run(t, 2, func(b *bench) {
		b.start("a", work.Bulk, shops[0], step)
		b.start("b", work.Bulk, shops[0], step)
		b.start("c", work.Bulk, shops[0], step)
	})
	b.wantAt("a", step)
	b.wantAt("b", step)
	b.wantAt("c", 2*step)

	b = run(t, 2, func(b *bench) {
		b.start("request", work.Request, shops[0], 3*step)
		b.start("bulk", work.Bulk, shops[0], step)
	})
	b.wantAt("request", 3*step)
	b.wantAt("bulk", 4*step)

	// A request waits for one step of one of them at most.
	b = run(t, 2, func(b *bench) {
		b.start("long", work.Bulk, shops[0], 3*step)
		b.start("short", work.Bulk, shops[0], step)
		b.start("request", work.Request, shops[0], step)
	})
	b.wantAt("request", 2*step)
}

func TestOneProcessorServesEveryClass(t *testing.T) {
	t.Parallel()
	b := run(t, 1, func(b *bench) {
		b.start("request", work.Request, shops[0], step)
		b.start("order", work.Order, shops[0], step)
		b.start("bulk", work.Bulk, shops[0], step)
	})
	b.wantAt("bulk", 3*step)
}

func TestNoLoadStopsWorkForEver(t *testing.T) {
	t.Parallel()
	b := run(t, 2, func(b *bench) {
		for range 40 { // 400 ms of requests
			b.start("request", work.Request, shops[0], step)
		}
		b.start("bulk", work.Bulk, shops[0], step)
		b.start("order", work.Order, shops[0], step)
	})
	b.wantAt("order", 3*step)
	b.wantAt("bulk", 11*step)

	// Though many wait, one is served each time.
	b = run(t, 2, func(b *bench) {
		for range 40 {
			b.start("request", work.Request, shops[0], step)
		}
		for range 10 {
			b.start("bulk", work.Bulk, shops[0], step)
		}
	})
	if i := slices.Index(b.order, "bulk"); b.order[i+1] == "bulk" {
		t.Errorf("bulk twice in a row before requests: %v", b.order)
	}
}

func TestShopsTakeTurns(t *testing.T) {
	t.Parallel()
	b := run(t, 2, func(b *bench) {
		b.start("first", work.Order, shops[0], step)
		for _, name := range []string{"a1", "a2", "a3"} {
			b.start(name, work.Order, shops[0], step)
		}
		b.start("b1", work.Order, shops[1], step)
		b.start("c1", work.Order, shops[2], step)
		b.start("b2", work.Order, shops[1], step)
	})
	b.want("first", "a1", "b1", "c1", "a2", "b2", "a3")
}

func TestCancelledWorkLeavesItsPlace(t *testing.T) {
	t.Parallel()
	ran := false
	b := run(t, 2, func(b *bench) {
		b.start("running", work.Request, shops[0], 3*step)
		ctx, cancel := context.WithTimeout(b.t.Context(), step)
		defer cancel()
		b.wg.Go(func() {
			err := b.cores.Do(ctx, work.Request, shops[0], func(context.Context) error { ran = true; return nil })
			if !errors.Is(err, context.DeadlineExceeded) || time.Since(b.begun) != step {
				t.Errorf("got %v after %v, want the deadline's error after %v", err, time.Since(b.begun), step)
			}
		})
		b.start("after", work.Request, shops[1], step)
		time.Sleep(2 * step)
	})
	b.wantAt("after", 4*step)
	if ran {
		t.Error("cancelled work ran")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	err := b.cores.Do(ctx, work.Request, shops[0], func(context.Context) error { ran = true; return nil })
	if !errors.Is(err, context.Canceled) || ran {
		t.Errorf("work of an ended context: %v, ran %v", err, ran)
	}
}

// A grant and a cancellation at the same moment lose no core.
func TestCancellationLosesNoCore(t *testing.T) {
	t.Parallel()
	cores := newCores(2)
	var wg sync.WaitGroup
	for i := range 200 {
		wg.Go(func() {
			ctx, cancel := context.WithTimeout(t.Context(), time.Duration(i%7)*10*time.Microsecond)
			defer cancel()
			_ = cores.Do(ctx, work.Class(i%3), shops[i%3], func(context.Context) error {
				time.Sleep(10 * time.Microsecond)
				return nil
			})
		})
	}
	wg.Wait()
	both := make(chan struct{})
	for range 2 {
		wg.Go(func() {
			_ = cores.Do(t.Context(), work.Bulk, shops[0], func(context.Context) error { both <- struct{}{}; return nil })
		})
	}
	for range 2 {
		select {
		case <-both:
		case <-time.After(5 * time.Second):
			t.Fatal("a core was lost")
		}
	}
	wg.Wait()
}

func TestPanicIsAnErrorAndFreesTheCore(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	panicked := map[work.Place]int{}
	cores := work.NewCores(work.Options{Processors: 1, Log: slog.New(slog.NewTextHandler(&log, nil)),
		Panicked: func(place work.Place) { panicked[place]++ }})
	for range 3 {
		err := cores.Do(t.Context(), work.Request, shops[0], func(context.Context) error { panic("bust 92") })
		p, ok := errors.AsType[*work.PanicError](err)
		if !ok || p.Error() != "panic of type string" {
			t.Fatalf("got %v, want a PanicError without its value", err)
		}
	}
	if panicked[work.AtWork] != 3 {
		t.Errorf("counted %v, want 3", panicked)
	}
	if s := log.String(); !strings.Contains(s, "cores_test.go") || strings.Contains(s, "bust 92") {
		t.Errorf("logged %q, want the stack without the value", s)
	}
	type key struct{}
	err := cores.Do(context.WithValue(t.Context(), key{}, 1), work.Bulk, shops[0], func(ctx context.Context) error {
		if ctx.Value(key{}) != 1 {
			t.Error("the work was not given its context")
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}
