package work

import (
	"testing"
	"time"
)

func TestRetryDelayIsBounded(t *testing.T) {
	t.Parallel()
	for failures, want := range map[int]time.Duration{0: time.Second, 1: 2 * time.Second, 4: 16 * time.Second,
		5: 30 * time.Second, 99: 30 * time.Second} {
		if got := retryDelay(failures); got != want {
			t.Errorf("after %d failures %v, want %v", failures, got, want)
		}
	}
}
