// Package ctxtest checks that work ends soon after its context is cancelled.
package ctxtest

import (
	"context"
	"errors"
	"testing"
	"time"
)

// Limit is the time within which all work ends after its context is cancelled.
const Limit = 100 * time.Millisecond

// EndsInTime runs work, cancels its context after each of the delays, and fails
// the test unless work then ends within Limit and returns context.Canceled. A
// busy machine delays everything, so each delay gets several attempts.
func EndsInTime(t *testing.T, work func(context.Context) error, delays ...time.Duration) {
	t.Helper()
	for _, delay := range delays {
		var took time.Duration
		for range 8 {
			ctx, cancel := context.WithCancel(t.Context())
			cancelled := make(chan time.Time, 1)
			time.AfterFunc(delay, func() {
				cancel()
				cancelled <- time.Now()
			})
			err := work(ctx)
			if !errors.Is(err, context.Canceled) {
				cancel()
				t.Fatalf("cancelled after %v: error %v, want %v", delay, err, context.Canceled)
			}
			if took = time.Since(<-cancelled); took <= Limit {
				break
			}
		}
		if took > Limit {
			t.Errorf("cancelled after %v, work went on for %v", delay, took)
		}
	}
}
