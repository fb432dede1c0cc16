package webhooks

import (
	"net/http"
	"testing"
	"time"
)

func TestDelay(t *testing.T) {
	t.Parallel()
	var total time.Duration
	for made := range Attempts {
		least, more := Delay(made, 0)
		most, _ := Delay(made, 1)
		if !more {
			t.Errorf("no attempt after %d", made)
		}
		if most < least || most > least+least/10 {
			t.Errorf("after %d: between %v and %v, want at most a tenth of jitter", made, least, most)
		}
		total += least
	}
	if _, more := Delay(Attempts, 0); more {
		t.Errorf("an attempt after %d", Attempts)
	}
	if _, more := Delay(-1, 0); more {
		t.Error("an attempt after -1")
	}
	if days := total.Hours() / 24; days < 3 || days > 3.5 {
		t.Errorf("the schedule lasts %.1f days, want about three", days)
	}
}

func TestRetryAfter(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 1, 31, 12, 0, 0, 0, time.UTC)
	for value, want := range map[string]time.Duration{
		"":                              0,
		"120":                           2 * time.Minute,
		" 7 ":                           7 * time.Second,
		"-5":                            0,
		"99999999999999999999":          0,
		"1.5":                           0,
		"soon":                          0,
		"Sat, 31 Jan 2026 12:01:00 GMT": time.Minute,
		"Sat, 31 Jan 2026 11:00:00 GMT": 0,
	} {
		if got := retryAfter(http.Header{"Retry-After": {value}}, now); got != want {
			t.Errorf("Retry-After: %q = %v, want %v", value, got, want)
		}
	}
}
