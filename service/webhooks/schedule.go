package webhooks

import (
	"net/http"
	"strconv"
	"strings"
	"time"
)

// schedule is the specification's own example of waits before each attempt:
// ten attempts over a little more than three days.
var schedule = []time.Duration{
	0,
	5 * time.Second,
	5 * time.Minute,
	30 * time.Minute,
	2 * time.Hour,
	5 * time.Hour,
	10 * time.Hour,
	14 * time.Hour,
	20 * time.Hour,
	24 * time.Hour,
}

// Attempts is how many attempts the schedule has.
const Attempts = 10

// Delay returns the wait before the next attempt after a number of attempts; more
// is false when the schedule has no further one. Jitter from 0 to 1 lengthens
// the wait by up to a tenth, so that messages which failed together do not
// come back together.
func Delay(made int, jitter float64) (wait time.Duration, more bool) {
	if made < 0 || made >= len(schedule) {
		return 0, false
	}
	return schedule[made] + time.Duration(jitter*0.1*float64(schedule[made])), true
}

// retryAfter reads the Retry-After header (RFC 9110 section 10.2.3): seconds
// or a date. What makes no sense, or lies in the past, is zero.
func retryAfter(h http.Header, now time.Time) time.Duration {
	value := strings.TrimSpace(h.Get("Retry-After"))
	if seconds, err := strconv.ParseInt(value, 10, 32); err == nil {
		return time.Duration(max(0, seconds)) * time.Second
	}
	if at, err := http.ParseTime(value); err == nil {
		return max(0, at.Sub(now))
	}
	return 0
}
