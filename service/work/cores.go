// Package work shares the processors out among requests, orders and work in
// bulk, and runs the job queue.
package work

import (
	"context"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"github.com/google/uuid"
)

// Class says who waits for a piece of work, and so what goes before it.
type Class int

const (
	Request Class = iota // a caller waits for the answer
	Order                // an order waits for its draft
	Bulk                 // nobody waits: refits, proofs. In steps of a few milliseconds
	classes
)

// patience is how long a class that has work waiting is passed over. Then it
// gets one core, so that no load before it stops it.
var patience = [classes]time.Duration{Order: 20 * time.Millisecond, Bulk: 100 * time.Millisecond}

// Cores shares out the processors for work that keeps one busy for
// milliseconds. More pieces at once than processors would not be done sooner.
//
// Classes go in their order, each after its patience at the latest; within a
// class, shops take turns. Requests and orders leave one processor free for
// short requests, which must not wait behind them, and for a database on the
// same machine. Work in bulk takes that one too as long as nothing of the
// other classes runs or waits: the short requests then wait for a step at most.
type Cores struct {
	most int // processors
	log  *slog.Logger

	mu      sync.Mutex
	running [classes]int
	waiting [classes]turns
	since   [classes]time.Time // when a class was last served, or began to wait
}

// NewCores returns Cores for a number of processors. It logs where work panics.
func NewCores(processors int, log *slog.Logger) *Cores {
	return &Cores{most: max(1, processors), log: log}
}

// Most returns how many pieces of work can run at once.
func (c *Cores) Most() int { return c.most }

// PanicError is the error of work that panicked. It leaves out the value, which
// may hold personal data.
type PanicError struct{ Type string }

func (e *PanicError) Error() string { return "panic of type " + e.Type }

// Do waits for a core, runs work on it with ctx, and returns its error. It
// returns the error of ctx if that ends first, and a *PanicError if work
// panics. Work must not wait for anything while it has the core, and must end
// soon after ctx.
func (c *Cores) Do(ctx context.Context, class Class, shop uuid.UUID, work func(context.Context) error) (err error) {
	if err := c.acquire(ctx, class, shop); err != nil {
		return err
	}
	defer c.release(class)
	defer func() {
		if v := recover(); v != nil {
			p := &PanicError{Type: fmt.Sprintf("%T", v)}
			c.log.LogAttrs(ctx, slog.LevelError, "panic", slog.String("type", p.Type),
				slog.String("stack", string(debug.Stack())))
			err = p
		}
	}()
	return work(ctx)
}

func (c *Cores) acquire(ctx context.Context, class Class, shop uuid.UUID) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	granted := make(chan struct{})
	c.mu.Lock()
	if c.waiting[class].empty() {
		c.since[class] = time.Now()
	}
	c.waiting[class].push(shop, granted)
	c.serve()
	c.mu.Unlock()
	select {
	case <-granted:
		return nil
	case <-ctx.Done():
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.waiting[class].remove(shop, granted) { // granted meanwhile
		c.running[class]--
	}
	c.serve()
	return ctx.Err()
}

func (c *Cores) release(class Class) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.running[class]--
	c.serve()
}

// serve grants cores to those who wait as long as there are any to grant.
func (c *Cores) serve() {
	now := time.Now()
	for {
		class, ok := c.next(now)
		if !ok {
			return
		}
		close(c.waiting[class].pop())
		c.running[class]++
		c.since[class] = now
	}
}

// next chooses the class to serve: one that was passed over for as long as its
// patience lasts, otherwise the first.
func (c *Cores) next(now time.Time) (Class, bool) {
	chosen, ok := classes, false
	for class := classes - 1; class >= 0; class-- {
		if !c.admits(class) {
			continue
		}
		if p := patience[class]; p > 0 && now.Sub(c.since[class]) >= p {
			return class, true
		}
		chosen, ok = class, true
	}
	return chosen, ok
}

// admits reports whether a class has work waiting and a core for it.
func (c *Cores) admits(class Class) bool {
	if c.waiting[class].empty() {
		return false
	}
	foreground := c.running[Request] + c.running[Order]
	all := foreground + c.running[Bulk]
	allButOne := max(1, c.most-1)
	switch {
	case class != Bulk: // bulk may still have the last processor, for a step
		return all < c.most && foreground < allButOne
	case foreground > 0 || !c.waiting[Request].empty() || !c.waiting[Order].empty():
		return all < allButOne
	default:
		return all < c.most
	}
}
