package work

import (
	"context"
	"sync"
	"time"

	"tapeline/db"
	"tapeline/service"
)

const (
	rescueInterval = 5 * time.Second

	// rescueByQueue is when the queue itself takes a job for lost. It goes by the
	// machine's clock, so this is longer than any clock is wrong, and rescuer does it.
	rescueByQueue = 30 * 24 * time.Hour
)

// rescuer makes jobs available again whose process was killed.
type rescuer struct {
	store *db.Store
	after time.Duration // from the start of a job

	cancel context.CancelFunc
	loop   sync.WaitGroup
}

func (r *rescuer) start(ctx context.Context) {
	ctx, r.cancel = context.WithCancel(ctx)
	r.loop.Go(func() {
		tick := time.NewTicker(rescueInterval)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
				_, _ = r.store.RescueJobs(ctx, r.after.Seconds()) // what fails is the database; the next look is soon
			}
		}
	})
}

func (r *rescuer) stop() {
	if r.cancel != nil {
		r.cancel()
		r.loop.Wait()
	}
}

// queueTime is the clock of the queue. What the database can stamp, it stamps.
type queueTime struct{ clock service.Clock }

// Now implements rivertype.TimeGenerator.
func (t queueTime) Now() time.Time { return t.clock.Now() }

// NowOrNil implements rivertype.TimeGenerator.
func (queueTime) NowOrNil() *time.Time { return nil }
