package work

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"time"

	"tapeline/drafting/cost"
)

// slice is how long work keeps its core while other work waits for one.
const slice = 10 * time.Millisecond

// Budget is what a piece of work on a core may take: a draft, a file, a lay
// plan, the estimates of an order.
type Budget struct {
	Time   time.Duration // of a processor
	Memory int           // bytes
}

// DefaultBudget is far above what a garment takes: a built-in one is drafted in 3
// to 30 ms.
func DefaultBudget() Budget { return Budget{Time: 2 * time.Second, Memory: cost.Memory} }

// Run runs work with a context that ends with a *cost.Error as its cause once the
// work has used up its processor time. It keeps the work on one thread, whose time
// it measures. m says how the work makes way for other work; its limit is the
// budget's.
func (b Budget) Run(ctx context.Context, m cost.Meter, work func(context.Context) error) error {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	used := threadTime()
	m.Memory = b.Memory
	ctx, cancel := context.WithCancelCause(cost.With(ctx, &m))
	defer cancel(nil)
	go func() {
		for left := b.Time; left > 0; left = b.Time - used() {
			select {
			case <-ctx.Done():
				return
			case <-time.After(left):
			}
		}
		cancel(&cost.Error{Limit: fmt.Sprintf("%g s of processor time", b.Time.Seconds())})
	}()
	err := work(ctx)
	if _, said := errors.AsType[*cost.Error](err); said {
		return err
	}
	if e := cost.Of(ctx, err); e != nil {
		return e
	}
	return err
}
