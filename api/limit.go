package api

import (
	"time"

	"github.com/labstack/echo/v4/middleware"
	"golang.org/x/time/rate"
)

// limiter limits the requests per second of every key, and of every address
// without one. Each replica counts separately.
type limiter struct {
	store *middleware.RateLimiterMemoryStore // nil: no limit
}

// newLimiter allows perSecond requests, twice as many in a burst; 0 is no limit.
func newLimiter(perSecond float64) *limiter {
	if perSecond <= 0 {
		return &limiter{}
	}
	return &limiter{store: middleware.NewRateLimiterMemoryStoreWithConfig(middleware.RateLimiterMemoryStoreConfig{
		Rate:      rate.Limit(perSecond),
		Burst:     max(1, int(2*perSecond)),
		ExpiresIn: 5 * time.Minute,
	})}
}

func (l *limiter) allow(who string) bool {
	if l.store == nil {
		return true
	}
	ok, err := l.store.Allow(who)
	return ok && err == nil
}

func tooMany() error { return &refusal{code: codeRateLimited} }
