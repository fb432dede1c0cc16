package work

import (
	"cmp"
	"context"
	"sync"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"tapeline/db"
	"tapeline/db/query"
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
				_, _ = r.store.RescueJobs(ctx, query.RescueJobsParams{Seconds: r.after.Seconds(),
					LongQueue: string(Fittings), LongSeconds: (fittingTime * 3 / 2).Seconds()}) // what fails is the database
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

// queueTime is the clock of the queue. It leaves to the database what the queue's
// driver lets the database stamp.
type queueTime struct{ clock service.Clock }

// Now implements rivertype.TimeGenerator.
func (t queueTime) Now() time.Time { return t.clock.Now() }

// NowOrNil implements rivertype.TimeGenerator.
func (queueTime) NowOrNil() *time.Time { return nil }

// stampInserts returns a hook that stamps new jobs by the clock. The queue's driver
// stamps them by the machine's clock: a job of a machine an hour ahead would wait
// for an hour.
func stampInserts(clock service.Clock) rivertype.Hook {
	return river.HookInsertBeginFunc(func(_ context.Context, job *rivertype.JobInsertParams) error {
		now := clock.Now()
		job.CreatedAt = cmp.Or(job.CreatedAt, &now)
		job.ScheduledAt = cmp.Or(job.ScheduledAt, &now)
		return nil
	})
}
