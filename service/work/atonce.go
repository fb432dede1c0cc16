package work

import (
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/service"
)

// AtOnce limits how many requests of one kind a shop has at work or waiting in
// this process, so that those of one shop do not fill the memory and the queue.
type AtOnce struct {
	kind string
	most int

	mu    sync.Mutex
	shops map[uuid.UUID]int
}

// NewAtOnce returns a limit of a shop; kind names the requests in the plural, for
// callers.
func NewAtOnce(kind string, most int) *AtOnce {
	return &AtOnce{kind: kind, most: most, shops: map[uuid.UUID]int{}}
}

// Enter counts a request of a shop until leave is called. It fails with
// CodeTooManyAtOnce if the shop has as many as it may.
func (a *AtOnce) Enter(shop uuid.UUID) (leave func(), err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.shops[shop] >= a.most {
		e := service.Refuse(service.CodeTooManyAtOnce, "a shop may have %d %s at once", a.most, a.kind)
		e.RetryAfter = time.Second
		return nil, e
	}
	a.shops[shop]++
	return func() { a.leave(shop) }, nil
}

func (a *AtOnce) leave(shop uuid.UUID) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.shops[shop]--; a.shops[shop] == 0 {
		delete(a.shops, shop)
	}
}
