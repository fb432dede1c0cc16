// Package work shares the processors out among requests, orders and work in
// bulk, and runs the job queue.
package work

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/drafting/cost"
)

// Cores shares out the processors for work that keeps one busy for
// milliseconds, by a Schedule. More pieces at once than processors would not be
// done sooner. Every piece has a budget of processor time and memory, and makes
// way for other work every few milliseconds (package cost).
type Cores struct {
	options Options

	mu       sync.Mutex
	schedule *Schedule[chan struct{}]

	memory memory
}

// Options of NewCores.
type Options struct {
	Processors int
	Budget     Budget // of each piece of work; 0 for DefaultBudget
	Memory     int    // bytes that all work may count together, at least the budget's; 0 for DefaultMemory
	Log        *slog.Logger
	Panicked   func(Place) // called after a recovered panic; nil for nothing
	Exceeded   func()      // called after work exceeded its budget; nil for nothing
}

// DefaultMemory is room for the lay plans of ten built-in garments at once, beside
// one piece of work that takes its whole budget.
const DefaultMemory = 2 * cost.Memory

// NewCores returns Cores. It logs where work panics.
func NewCores(o Options) *Cores {
	o.Processors = max(1, o.Processors)
	standard := DefaultBudget()
	o.Budget.Time = cmp.Or(o.Budget.Time, standard.Time)
	o.Budget.Memory = cmp.Or(o.Budget.Memory, standard.Memory)
	o.Memory = cmp.Or(o.Memory, DefaultMemory)
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return &Cores{options: o, schedule: NewSchedule[chan struct{}](o.Processors),
		memory: memory{common: max(0, o.Memory-o.Budget.Memory)}}
}

// MemoryUse returns the memory that work counts at the moment.
func (c *Cores) MemoryUse() MemoryUse { return c.memory.use() }

// Most returns how many pieces of work can run at once.
func (c *Cores) Most() int { return c.options.Processors }

// Place is where the program recovers panics.
type Place string

const (
	AtWork     Place = "work"     // on a core: a draft, a file, a lay plan
	AtProof    Place = "proof"    // in a draft of a proof
	AtRequest  Place = "request"  // in a handler
	AtJob      Place = "job"      // in a worker
	AtDelivery Place = "delivery" // in an attempt to deliver a webhook message
)

// Places returns all places.
func Places() []Place { return []Place{AtWork, AtProof, AtRequest, AtJob, AtDelivery} }

// PanicError is the error of work that panicked. It leaves out the value, which
// may hold personal data.
type PanicError struct{ Type string }

func (e *PanicError) Error() string { return "panic of type " + e.Type }

// Do waits for a core, runs work on it with ctx, and returns its error. It
// returns the error of ctx if that ends first, a *cost.Error if work uses up its
// budget, and a *PanicError if it panics. Work must not wait for anything while it
// has the core, must not start goroutines, and must end soon after ctx. Where work
// calls cost.Step, it makes way for other work whose turn it is; in cost.Take it
// waits for memory, without its core.
func (c *Cores) Do(ctx context.Context, class Class, shop uuid.UUID, work func(context.Context) error) error {
	return c.DoFor(ctx, class, shop, c.options.Budget.Time, work)
}

// DoFor is Do for work that has a budget of processor time of its own.
func (c *Cores) DoFor(
	ctx context.Context, class Class, shop uuid.UUID, most time.Duration, work func(context.Context) error,
) (err error) {
	h := hold{cores: c, class: class, shop: shop, share: share{shop: shop}}
	defer c.memory.release(&h.share)
	if err := h.acquire(ctx); err != nil {
		return err
	}
	defer h.release()
	defer func() {
		if v := recover(); v != nil {
			err = c.Recovered(ctx, AtWork, v)
		}
	}()
	budget := Budget{most, c.options.Budget.Memory}
	err = budget.Run(ctx, cost.Meter{Pause: func() error { return h.pause(ctx) },
		Room: func(bytes int) error { return h.take(ctx, bytes) }}, work)
	if _, ok := errors.AsType[*cost.Error](err); ok && c.options.Exceeded != nil {
		c.options.Exceeded()
	}
	return err
}

// Recovered logs and counts a panic that was recovered at a place of the program,
// and returns it as an error. It is called by the deferred function that recovered
// it.
func (c *Cores) Recovered(ctx context.Context, place Place, v any) *PanicError {
	p := &PanicError{Type: fmt.Sprintf("%T", v)}
	c.options.Log.LogAttrs(ctx, slog.LevelError, "panic", slog.String("place", string(place)), slog.String("type", p.Type),
		slog.String("stack", string(debug.Stack())))
	if c.options.Panicked != nil {
		c.options.Panicked(place)
	}
	return p
}

// hold is a piece of work that has or waits for a core.
type hold struct {
	cores *Cores
	class Class
	shop  uuid.UUID
	has   bool
	since time.Time // when it got the core
	share share
}

// take adds memory to the work's share. If there is none, the work gives up its core
// until there is.
func (h *hold) take(ctx context.Context, bytes int) error {
	m := &h.cores.memory
	claim := m.take(&h.share, bytes)
	if claim == nil {
		return nil
	}
	h.release()
	select {
	case <-claim.granted:
		return h.acquire(ctx)
	case <-ctx.Done():
		m.drop(claim)
		return ctx.Err()
	}
}

func (h *hold) acquire(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c := h.cores
	granted := make(chan struct{})
	c.mu.Lock()
	c.schedule.Add(h.class, h.shop, granted, time.Now())
	c.serve()
	c.mu.Unlock()
	return h.await(ctx, granted)
}

// await waits until a core is granted.
func (h *hold) await(ctx context.Context, granted chan struct{}) error {
	select {
	case <-granted:
		h.has, h.since = true, time.Now()
		return nil
	case <-ctx.Done():
	}
	c := h.cores
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.schedule.Remove(h.class, h.shop, granted) { // granted meanwhile
		c.schedule.Done(h.class)
	}
	c.serve()
	return ctx.Err()
}

func (h *hold) release() {
	if !h.has {
		return
	}
	h.has = false
	c := h.cores
	c.mu.Lock()
	defer c.mu.Unlock()
	c.schedule.Done(h.class)
	c.serve()
}

// pause makes way for the work of other shops and of classes before, if the
// work has had its core for a slice, and waits for a core again.
func (h *hold) pause(ctx context.Context) error {
	if !h.has { // ctx ended while it waited
		return ctx.Err()
	}
	if time.Since(h.since) < slice {
		return nil
	}
	c := h.cores
	c.mu.Lock()
	if c.schedule.Idle() {
		h.since = time.Now()
		c.mu.Unlock()
		return nil
	}
	granted := make(chan struct{})
	h.has = false
	c.schedule.Pause(h.class, h.shop, granted, time.Now())
	c.serve()
	c.mu.Unlock()
	return h.await(ctx, granted)
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
