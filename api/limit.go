package api

import (
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4/middleware"
	"golang.org/x/time/rate"
)

// limiter limits the requests per second of every key, of every shop with all its
// keys, and of every address without a key. Each replica counts separately.
type limiter struct {
	keys, shops, addresses, guesses bucket
}

// shopKeys is how many times the rate of a key a shop has with all its keys.
const shopKeys = 2

// newLimiter allows each key and each address perSecond requests; 0 is no limit.
func newLimiter(perSecond float64) *limiter {
	return &limiter{keys: newBucket(perSecond), shops: newBucket(shopKeys * perSecond),
		addresses: newBucket(perSecond), guesses: newBucket(perSecond)}
}

// AllowKey counts a request with a valid key.
func (l *limiter) AllowKey(key, shop uuid.UUID) bool {
	return l.keys.allow(key.String()) && l.shops.allow(shop.String())
}

// allowKeyless counts a request to an operation that needs no key.
func (l *limiter) allowKeyless(address string) bool { return l.addresses.allow(address) }

// AllowGuess counts a request with a key that is not valid. Many of them do not
// keep the requests without a key of the same address from being served.
func (l *limiter) AllowGuess(address string) bool { return l.guesses.allow(address) }

// bucket limits the requests of many callers, each on its own.
type bucket struct {
	store *middleware.RateLimiterMemoryStore // nil: no limit
}

// newBucket allows perSecond requests, twice as many in a burst; 0 is no limit.
func newBucket(perSecond float64) bucket {
	if perSecond <= 0 {
		return bucket{}
	}
	return bucket{store: middleware.NewRateLimiterMemoryStoreWithConfig(middleware.RateLimiterMemoryStoreConfig{
		Rate:      rate.Limit(perSecond),
		Burst:     max(1, int(2*perSecond)),
		ExpiresIn: 5 * time.Minute,
	})}
}

func (b bucket) allow(who string) bool {
	if b.store == nil {
		return true
	}
	ok, err := b.store.Allow(who)
	return ok && err == nil
}

func tooMany() error { return &refusal{code: codeRateLimited} }
