package api

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"golang.org/x/time/rate"

	"tapeline/service"
)

// limiter limits the requests per second of every key, of every shop with all its
// keys, and of every address without a key. Each replica counts separately.
type limiter struct {
	keys, shops, addresses, guesses *policy
	visitors, browsers              *policy // of publishable keys
}

const (
	shopKeys = 2 // times the rate of a key: of a shop with all its keys

	// Anybody can read a publishable key, so it is no claim to the rate of a key.
	visitorShare = 50 // the part of the rate of a key: of one address with a shop's publishable keys
	browserShare = 5  // of all addresses with a shop's publishable keys
)

// newLimiter allows each key and each address perSecond requests; 0 is no limit.
func newLimiter(perSecond float64) *limiter {
	return &limiter{
		keys:      newPolicy("key", perSecond),
		shops:     newPolicy("shop", shopKeys*perSecond),
		addresses: newPolicy("address", perSecond),
		guesses:   newPolicy("address", perSecond),
		visitors:  newPolicy("visitor", perSecond/visitorShare),
		browsers:  newPolicy("browsers", perSecond/browserShare),
	}
}

// AllowKey counts a request with a valid key.
func (l *limiter) AllowKey(key, shop uuid.UUID) bool {
	return l.countKey(service.Caller{Key: key, Shop: shop}, "").allowed
}

// countKey counts a request with a valid key that came from an address.
func (l *limiter) countKey(caller service.Caller, address string) standing {
	shop := caller.Owner().String()
	if caller.Role == service.RolePublishable {
		return count(use{l.visitors, shop + " " + address}, use{l.browsers, shop})
	}
	return count(use{l.keys, caller.Key.String()}, use{l.shops, shop})
}

// countKeyless counts a request to an operation that needs no key.
func (l *limiter) countKeyless(address string) standing { return count(use{l.addresses, address}) }

// AllowGuess counts a request with a key that is not valid. Many of them do not
// keep the requests without a key of the same address from being served.
func (l *limiter) AllowGuess(address string) bool { return count(use{l.guesses, address}).allowed }

// policy limits the requests of many callers, each on its own.
type policy struct {
	name      string
	perSecond float64 // 0: no limit
	quota     int     // requests in a burst

	mu      sync.Mutex
	callers map[string]*bucket
	swept   time.Time // when callers that are gone were last forgotten
}

type bucket struct {
	tokens *rate.Limiter
	seen   time.Time
}

// forgetAfter is how long a caller who is gone is remembered: longer than a bucket
// takes to fill.
const forgetAfter = 5 * time.Minute

// newPolicy allows perSecond requests, twice as many in a burst; 0 is no limit.
func newPolicy(name string, perSecond float64) *policy {
	return &policy{name: name, perSecond: perSecond, quota: max(1, int(2*perSecond)), callers: map[string]*bucket{}}
}

// take counts a request, unless it is over the limit, and returns the tokens left; a
// request needs one.
func (p *policy) take(who string, now time.Time) (left float64, ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if now.Sub(p.swept) >= time.Minute {
		p.swept = now
		for name, b := range p.callers {
			if now.Sub(b.seen) >= forgetAfter {
				delete(p.callers, name)
			}
		}
	}
	b, known := p.callers[who]
	if !known {
		b = &bucket{tokens: rate.NewLimiter(rate.Limit(p.perSecond), p.quota)}
		p.callers[who] = b
	}
	b.seen = now
	ok = b.tokens.AllowN(now, 1)
	return b.tokens.TokensAt(now), ok
}

// seconds returns the whole seconds in which a number of tokens comes back.
func (p *policy) seconds(tokens float64) int { return int(math.Ceil(max(0, tokens) / p.perSecond)) }

// use is the policy that limits a request, and whom it counts for.
type use struct {
	policy *policy
	who    string
}

// standing is how a caller stands with the limits after a request.
type standing struct {
	allowed        bool
	limits, policy []string // items of the headers
	retryAfter     int      // seconds, if not allowed
}

// count counts a request for each use, up to the first whose limit it exceeds.
func count(uses ...use) standing {
	s := standing{allowed: true}
	now := time.Now()
	for _, u := range uses {
		p := u.policy
		if p.perSecond <= 0 || !s.allowed {
			continue
		}
		left, ok := p.take(u.who, now)
		s.policy = append(s.policy, fmt.Sprintf("%q;q=%d;w=%d", p.name, p.quota, max(1, p.seconds(float64(p.quota)))))
		s.limits = append(s.limits, fmt.Sprintf("%q;r=%d;t=%d", p.name, max(0, int(left)), p.seconds(float64(p.quota)-left)))
		if !ok {
			s.allowed, s.retryAfter = false, max(1, p.seconds(1-left))
		}
	}
	return s
}

// describe adds the headers of the IETF draft draft-ietf-httpapi-ratelimit-headers-10,
// which are lists of structured fields (RFC 9651).
func (s standing) describe(h http.Header) {
	if len(s.policy) > 0 {
		h.Set("RateLimit-Policy", strings.Join(s.policy, ", "))
		h.Set("RateLimit", strings.Join(s.limits, ", "))
	}
}

// refusal returns the refusal of a request over a limit.
func (s standing) refusal() error {
	return &refusal{code: codeRateLimited, header: http.Header{"Retry-After": {strconv.Itoa(s.retryAfter)}}}
}

func tooMany() error { return &refusal{code: codeRateLimited} }
