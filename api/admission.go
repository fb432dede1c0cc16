package api

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
)

const (
	// largeBody is the size in bytes from which a body is admitted by turns. Parsed,
	// a table of bodies takes twenty times the memory.
	largeBody = 1 << 20

	largeAtOnce = 2               // large bodies in memory at once
	admitWithin = 5 * time.Second // a body's wait for a place
)

// admission admits few large bodies at once, and one of each shop, so that their
// memory stays small however many are sent.
type admission struct {
	places chan struct{}

	mu    sync.Mutex
	shops map[uuid.UUID]bool // that have a place, or wait for one
}

func newAdmission() *admission {
	return &admission{places: make(chan struct{}, largeAtOnce), shops: map[uuid.UUID]bool{}}
}

// enter waits for a place, and reports whether there was one in time.
func (a *admission) enter(ctx context.Context, shop uuid.UUID) bool {
	a.mu.Lock()
	second := a.shops[shop]
	a.shops[shop] = true
	a.mu.Unlock()
	if second {
		return false
	}
	ctx, cancel := context.WithTimeout(ctx, admitWithin)
	defer cancel()
	select {
	case a.places <- struct{}{}:
		return true
	case <-ctx.Done():
		a.forget(shop)
		return false
	}
}

func (a *admission) leave(shop uuid.UUID) {
	<-a.places
	a.forget(shop)
}

func (a *admission) forget(shop uuid.UUID) {
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.shops, shop)
}

// admit admits requests with large bodies before they are read.
func (s *Server) admit(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, ok := c.Get(operationKey).(*operation)
		if length := c.Request().ContentLength; !ok || op.most < largeBody || length >= 0 && length < largeBody {
			return next(c)
		}
		shop := callerOf(c.Request().Context()).Shop
		if !s.admission.enter(c.Request().Context(), shop) {
			return &refusal{code: codeRateLimited, detail: "another large request of this shop, or of others, is in progress"}
		}
		defer s.admission.leave(shop)
		return next(c)
	}
}
