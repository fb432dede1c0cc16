package db

import (
	"context"
	"sync/atomic"
	"time"
)

// clockInterval is how often FollowClock reads the database's clock. Clocks of
// machines drift apart by a millisecond in this time at most.
const clockInterval = 5 * time.Second

// clock tells the database's time, so that all processes on a database have one.
// Between readings it goes on with the machine's monotonic clock: to set the
// machine's clock does not move it.
type clock struct {
	start time.Time    // by the machine's clock
	ahead atomic.Int64 // nanoseconds by which the database's time was ahead at start
}

// Now returns the database's time. It is the machine's until the first ReadClock,
// and then right to within the duration of the fastest one.
func (s *Store) Now() time.Time {
	return s.clock.start.Add(time.Since(s.clock.start) + time.Duration(s.clock.ahead.Load()))
}

// ReadClock corrects Now by the database's clock. The database told its time at
// some moment between question and answer; a time between is left as it is.
func (s *Store) ReadClock(ctx context.Context) error {
	asked := time.Since(s.clock.start)
	at, err := s.DatabaseTime(ctx)
	if err != nil {
		return err
	}
	answered := time.Since(s.clock.start)
	ahead := at.Sub(s.clock.start.Round(0)) // without the monotonic reading
	s.clock.ahead.Store(int64(min(max(time.Duration(s.clock.ahead.Load()), ahead-answered), ahead-asked)))
	return nil
}

// FollowClock reads the database's clock until ctx ends. While the database does
// not answer, Now goes on by itself.
func (s *Store) FollowClock(ctx context.Context) {
	tick := time.NewTicker(clockInterval)
	defer tick.Stop()
	for {
		_ = s.ReadClock(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
