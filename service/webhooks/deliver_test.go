package webhooks

import (
	"testing"
	"time"

	"github.com/google/uuid"
)

func TestWhatFollowsAnAttempt(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		out    Outcome
		tries  int
		status string
		wait   time.Duration
	}{
		"delivered":            {Outcome{Status: 204}, 1, messageDelivered, 0},
		"refused":              {Outcome{Status: 500}, 1, messagePending, 5 * time.Second},
		"no answer":            {Outcome{}, 2, messagePending, 5 * time.Minute},
		"asks for longer":      {Outcome{Status: 429, RetryAfter: time.Hour}, 1, messagePending, time.Hour},
		"asks for less":        {Outcome{Status: 429, RetryAfter: time.Second}, 2, messagePending, 5 * time.Minute},
		"asks for far longer":  {Outcome{Status: 503, RetryAfter: 99 * time.Hour}, 1, messagePending, maxWait},
		"gone":                 {Outcome{Status: 410}, 1, messageDead, 0},
		"forbidden address":    {Outcome{Refused: true}, 1, messagePending, 5 * time.Second},
		"end of the schedule":  {Outcome{Status: 500}, len(schedule), messageDead, 0},
		"delivered at the end": {Outcome{Status: 200}, len(schedule), messageDelivered, 0},
	} {
		if status, wait := next(tt.out, tt.tries, 0); status != tt.status || wait != tt.wait {
			t.Errorf("%s: %s after %v, want %s after %v", name, status, wait, tt.status, tt.wait)
		}
	}
}

func TestOneEndpointHasAShareOfTheWorkers(t *testing.T) {
	t.Parallel()
	share := endpointShare{max: 2, count: map[uuid.UUID]int{}}
	slow, other := uuid.New(), uuid.New()
	for n, want := range []bool{true, true, false} {
		if got := share.enter(slow); got != want {
			t.Errorf("delivery %d to one endpoint may start: %t, want %t", n+1, got, want)
		}
	}
	if !share.enter(other) {
		t.Error("a slow endpoint keeps another waiting")
	}
	share.leave(slow)
	if !share.enter(slow) {
		t.Error("a delivery that ended left no room")
	}
}
