package work_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/uuid"

	"tapeline/drafting/cost"
	"tapeline/service/work"
)

const mb = 1 << 20

// However many pieces of work of however many shops want all that one may take, their
// sum stays within the limit, all of them end, and all is given back.
func TestMemoryOfAllWorkIsLimited(t *testing.T) {
	t.Parallel()
	cores := work.NewCores(work.Options{Processors: 2, Budget: work.Budget{Memory: 4 * mb}, Memory: 10 * mb})
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		var most atomic.Int64
		var all sync.WaitGroup
		for n := range 60 {
			all.Go(func() {
				err := cores.Do(t.Context(), work.Class(n%3), uuid.UUID{byte(n % 7)}, func(ctx context.Context) error {
					for range 4 {
						if err := cost.Take(ctx, mb); err != nil {
							return err
						}
						most.Store(max(most.Load(), int64(cores.MemoryUse().Bytes)))
						time.Sleep(4 * time.Millisecond) // past a slice, the next piece begins
					}
					return nil
				})
				if err != nil {
					t.Errorf("piece %d: %v", n, err)
				}
			})
		}
		all.Wait()
		if got := most.Load(); got > 10*mb || got <= 4*mb {
			t.Errorf("all work took %d MB at most, want 5 to 10", got/mb)
		}
		if got := cores.MemoryUse(); got != (work.MemoryUse{}) {
			t.Errorf("%+v is left", got)
		}
		if took, alone := time.Since(began), 60*16*time.Millisecond; took > alone {
			t.Errorf("took %v, one piece after the other would take %v", took, alone)
		}
	})
}

// Shops take turns for memory, and work that waits for it leaves its core to others.
func TestWorkWaitsForMemoryInTurns(t *testing.T) {
	t.Parallel()
	cores := work.NewCores(work.Options{Processors: 2, Budget: work.Budget{Memory: 4 * mb}, Memory: 4 * mb})
	synctest.Test(t, func(t *testing.T) {
		var mu sync.Mutex
		var order []string
		var all sync.WaitGroup
		note := func(name string) {
			mu.Lock()
			defer mu.Unlock()
			order = append(order, name)
		}
		start := func(name string, shop uuid.UUID, bytes int) {
			all.Go(func() {
				err := cores.Do(t.Context(), work.Bulk, shop, func(ctx context.Context) error {
					if err := cost.Take(ctx, bytes); err != nil {
						return err
					}
					if bytes > 0 {
						time.Sleep(step)
					}
					return nil
				})
				if err != nil {
					t.Errorf("%s: %v", name, err)
				}
				note(name)
			})
			synctest.Wait()
		}
		start("a1", shops[0], 3*mb)
		start("a2", shops[0], 3*mb)
		start("a3", shops[0], 3*mb)
		start("b1", shops[1], 3*mb)
		start("small", shops[2], 0)
		all.Wait()
		if want := []string{"small", "a1", "a2", "b1", "a3"}; !slices.Equal(order, want) {
			t.Errorf("done in the order %v, want %v", order, want)
		}
	})
}

// Work that is cancelled while it waits for memory ends, and what it had is free.
func TestCancelledWhileItWaitsForMemory(t *testing.T) {
	t.Parallel()
	cores := work.NewCores(work.Options{Processors: 2, Budget: work.Budget{Memory: 4 * mb}, Memory: 6 * mb})
	synctest.Test(t, func(t *testing.T) {
		var all sync.WaitGroup
		hold, let := context.WithCancel(t.Context())
		take := func(ctx context.Context, want error, steps ...int) {
			all.Go(func() {
				err := cores.Do(ctx, work.Bulk, shops[0], func(ctx context.Context) error {
					for _, bytes := range steps {
						if err := cost.Take(ctx, bytes); err != nil {
							return err
						}
					}
					<-hold.Done()
					return nil
				})
				if !errors.Is(err, want) {
					t.Errorf("got %v, want %v", err, want)
				}
			})
			synctest.Wait()
		}
		take(t.Context(), nil, 3*mb) // has the reserve
		ctx, cancel := context.WithCancel(t.Context())
		take(ctx, context.Canceled, mb, 3*mb) // has 1 MB of the common 2, and waits
		if got := cores.MemoryUse(); got != (work.MemoryUse{Bytes: 4 * mb, Waiting: 1}) {
			t.Errorf("%+v is in use", got)
		}
		cancel()
		synctest.Wait()
		if got := cores.MemoryUse(); got != (work.MemoryUse{Bytes: 3 * mb}) {
			t.Errorf("%+v is in use after one was cancelled", got)
		}
		let()
		all.Wait()
	})
}
