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

// Cores shares out the processors for work that keeps one busy for
// milliseconds, by a Schedule. More pieces at once than processors would not be
// done sooner.
type Cores struct {
	most int // processors
	log  *slog.Logger

	mu       sync.Mutex
	schedule *Schedule[chan struct{}]
}

// NewCores returns Cores for a number of processors. It logs where work panics.
func NewCores(processors int, log *slog.Logger) *Cores {
	return &Cores{most: max(1, processors), log: log, schedule: NewSchedule[chan struct{}](processors)}
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
	c.schedule.Add(class, shop, granted, time.Now())
	c.serve()
	c.mu.Unlock()
	select {
	case <-granted:
		return nil
	case <-ctx.Done():
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.schedule.Remove(class, shop, granted) { // granted meanwhile
		c.schedule.Done(class)
	}
	c.serve()
	return ctx.Err()
}

func (c *Cores) release(class Class) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.schedule.Done(class)
	c.serve()
}

// serve grants cores to those who wait as long as there are any to grant.
func (c *Cores) serve() {
	now := time.Now()
	for {
		granted, ok := c.schedule.Next(now)
		if !ok {
			return
		}
		close(granted)
	}
}
