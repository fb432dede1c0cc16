package work

import (
	"context"
	"fmt"
	"runtime"
	"time"

	"tapeline/drafting/cost"
)

// Times of work on a core.
const (
	// Budget is the processor time that a piece of work has by default: a draft, a
	// file, a lay plan. A built-in garment is drafted in 3 to 30 ms.
	Budget = 2 * time.Second

	// slice is how long work keeps its core while other work waits for one.
	slice = 10 * time.Millisecond
)

// budgeted runs work with a context that ends with a *cost.Error as its cause
// once the work has used up its budget of processor time. It keeps the work on one
// thread, whose time it measures.
func budgeted(ctx context.Context, budget time.Duration, work func(context.Context) error) error {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	used := threadTime()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	go func() {
		for left := budget; left > 0; left = budget - used() {
			select {
			case <-ctx.Done():
				return
			case <-time.After(left):
			}
		}
		cancel(&cost.Error{Limit: fmt.Sprintf("%g s of processor time", budget.Seconds())})
	}()
	err := work(ctx)
	if e := cost.Of(ctx, err); e != nil {
		return e
	}
	return err
}
