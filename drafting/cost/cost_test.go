package cost_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"tapeline/drafting/cost"
)

func TestStepMakesWay(t *testing.T) {
	t.Parallel()
	paused := 0
	var fails error
	ctx, cancel := context.WithCancel(cost.With(t.Context(), &cost.Meter{Pause: func() error { paused++; return fails }}))
	for range 3 {
		if err := cost.Step(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if paused != 3 {
		t.Errorf("made way %d times, want 3", paused)
	}
	fails = errors.New("no core")
	if err := cost.Step(ctx); !errors.Is(err, fails) {
		t.Errorf("got %v, want the error of Pause", err)
	}
	fails = nil
	cancel()
	if err := cost.Step(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v after the end of the context", err)
	}
	if err := cost.Take(t.Context(), 1<<40); err != nil {
		t.Errorf("work without a budget: %v", err)
	}
}

func TestTake(t *testing.T) {
	t.Parallel()
	ctx := cost.With(t.Context(), &cost.Meter{Memory: 10 << 20})
	for range 10 {
		if err := cost.Take(ctx, 1<<20); err != nil {
			t.Fatal(err)
		}
	}
	err := cost.Named(ctx, cost.Take(ctx, 1), "page 3")
	if e := cost.Of(ctx, err); e == nil || e.Error() != "page 3 takes more than 10 MB of memory" {
		t.Errorf("got %v", err)
	}
	if again := cost.Named(ctx, err, "the file"); again.Error() != err.Error() {
		t.Errorf("named twice: %v", again)
	}
}

// Only an error that says that the context ended has the budget as its reason.
func TestOf(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancelCause(t.Context())
	other := errors.New("too wide")
	if e := cost.Of(ctx, other); e != nil {
		t.Errorf("got %v before the budget was used up", e)
	}
	cancel(&cost.Error{Limit: "2 s of processor time"})
	if e := cost.Of(ctx, other); e != nil {
		t.Errorf("got %v for another error", e)
	}
	err := fmt.Errorf("render: %w", ctx.Err())
	if e := cost.Of(ctx, err); e == nil || e.Error() != "the work takes more than 2 s of processor time" {
		t.Errorf("got %v", e)
	}
	ended, stop := context.WithCancel(t.Context())
	stop()
	if e := cost.Of(ended, ended.Err()); e != nil {
		t.Errorf("got %v for work that was cancelled", e)
	}
}
