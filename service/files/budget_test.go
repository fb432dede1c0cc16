package files

import (
	"context"
	"errors"
	"testing"

	"tapeline/drafting/cost"
)

func TestWorkOfTheCommandLineHasABudget(t *testing.T) {
	t.Parallel()
	err := within(t.Context(), func(ctx context.Context) error { return cost.Take(ctx, cost.Memory+1) })
	if e, ok := errors.AsType[*cost.Error](err); !ok || e.Limit != "64 MB of memory" {
		t.Errorf("work beyond its memory: %v", err)
	}
	err = within(t.Context(), func(ctx context.Context) error {
		for {
			if err := cost.Step(ctx); err != nil {
				return err
			}
		}
	})
	if e, ok := errors.AsType[*cost.Error](err); !ok || e.Limit != "2 s of processor time" {
		t.Errorf("work without end: %v", err)
	}
}
