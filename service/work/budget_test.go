package work_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"tapeline/drafting/cost"
	"tapeline/service/work"
)

// guard ends a test that would otherwise not.
const guard = 30 * time.Second

func TestBudgetOfTime(t *testing.T) {
	t.Parallel()
	exceeded := 0
	cores := work.NewCores(work.Options{Processors: 1, Budget: work.Budget{Time: 20 * time.Millisecond},
		Exceeded: func() { exceeded++ }})
	ctx, cancel := context.WithTimeout(t.Context(), guard)
	defer cancel()
	err := cores.Do(ctx, work.Request, shops[0], func(ctx context.Context) error {
		for {
			if err := cost.Step(ctx); err != nil {
				return cost.Named(ctx, err, "counting")
			}
		}
	})
	if e, ok := errors.AsType[*cost.Error](err); !ok || e.Error() != "counting takes more than 0.02 s of processor time" ||
		exceeded != 1 {
		t.Errorf("got %v, counted %d", err, exceeded)
	}
	// Work that ends in time keeps its error.
	other := errors.New("too wide")
	err = cores.Do(ctx, work.Request, shops[0], func(context.Context) error { return other })
	if !errors.Is(err, other) {
		t.Errorf("got %v", err)
	}
}

func TestBudgetOfMemory(t *testing.T) {
	t.Parallel()
	cores := work.NewCores(work.Options{Budget: work.Budget{Memory: 3 << 20}})
	err := cores.Do(t.Context(), work.Request, shops[0], func(ctx context.Context) error {
		for {
			if err := cost.Take(ctx, 1<<20); err != nil {
				return err
			}
		}
	})
	if e, ok := errors.AsType[*cost.Error](err); !ok || e.Limit != "3 MB of memory" {
		t.Errorf("got %v", err)
	}
}

// Long work lets another shop's go first, on the only core.
func TestLongWorkMakesWay(t *testing.T) {
	t.Parallel()
	cores := newCores(1)
	ctx, cancel := context.WithTimeout(t.Context(), guard)
	defer cancel()
	began, done := make(chan struct{}), make(chan struct{})
	go func() {
		<-began
		if err := cores.Do(ctx, work.Request, shops[1], func(context.Context) error { return nil }); err != nil {
			t.Error(err)
		}
		close(done)
	}()
	err := cores.Do(ctx, work.Request, shops[0], func(ctx context.Context) error {
		close(began)
		for {
			select {
			case <-done:
				return nil
			default:
			}
			if err := cost.Step(ctx); err != nil {
				return err
			}
		}
	})
	if err != nil {
		t.Errorf("the other shop's work waited for all of it: %v", err)
	}
}
