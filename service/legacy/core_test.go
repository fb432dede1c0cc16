package legacy

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"
)

// Work in bulk has all processors while nobody else wants one, and all but the
// last while somebody does; what it waits for it gets in the end.
func TestOnIdleCore(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := &Service{cores: make(chan struct{}, 1), spare: make(chan struct{}, 1)}
		work := func(took time.Duration) func() error { return func() error { time.Sleep(took); return nil } }
		const step = time.Second
		at := func(on func(context.Context, func() error) error, took time.Duration) <-chan time.Duration {
			done, began := make(chan time.Duration, 1), time.Now()
			go func() {
				if err := on(t.Context(), work(took)); err != nil {
					t.Error(err)
				}
				done <- time.Since(began)
			}()
			return done
		}
		near := func(what string, got, want time.Duration) {
			t.Helper()
			if got < want || got > want+step/10 {
				t.Errorf("%s is done after %s, want %s", what, got, want)
			}
		}
		one, two, three := at(s.onIdleCore, step), at(s.onIdleCore, step), at(s.onIdleCore, step)
		a, b, c := <-one, <-two, <-three
		near("the first of three in bulk", min(a, b, c), step)
		near("the second", a+b+c-min(a, b, c)-max(a, b, c), step)
		near("the third", max(a, b, c), 2*step)

		request := at(s.onCore, 3*step)
		synctest.Wait()
		bulk := at(s.onIdleCore, step)
		near("a request", <-request, 3*step)
		near("work in bulk beside it", <-bulk, 4*step)

		ctx, cancel := context.WithCancel(t.Context())
		request = at(s.onCore, 3*step)
		synctest.Wait()
		cancel()
		if err := s.onIdleCore(ctx, work(step)); !errors.Is(err, context.Canceled) {
			t.Errorf("given up: %v", err)
		}
		<-request
	})
}
