package work

import (
	"slices"
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

// Schedule decides which piece of work gets a processor next. It has no clock and
// runs nothing: Cores does, and a simulation may.
//
// Classes go in their order, each after its patience at the latest; within a
// class, shops take turns. Requests and orders leave one processor free for
// short requests, which must not wait behind them, and for a database on the
// same machine. Work in bulk takes that one too as long as nothing of the
// other classes runs or waits: the short requests then wait for a step at most.
type Schedule[T comparable] struct {
	processors int
	running    [classes]int
	waiting    [classes]turns[T]
	since      [classes]time.Time // when a class was last served, or began to wait
}

// NewSchedule returns a schedule for a number of processors, at least one.
func NewSchedule[T comparable](processors int) *Schedule[T] {
	return &Schedule[T]{processors: max(1, processors)}
}

// Add lets a piece of work wait for a processor.
func (s *Schedule[T]) Add(class Class, shop uuid.UUID, piece T, now time.Time) {
	if s.waiting[class].empty() {
		s.since[class] = now
	}
	s.waiting[class].push(shop, piece)
}

// Pause takes back the processor of a piece of work, which then waits for one
// again: behind the work of other shops, but before that of its own.
func (s *Schedule[T]) Pause(class Class, shop uuid.UUID, piece T, now time.Time) {
	s.running[class]--
	if s.waiting[class].empty() {
		s.since[class] = now
	}
	s.waiting[class].pushFirst(shop, piece)
}

// Idle reports whether nothing waits for a processor.
func (s *Schedule[T]) Idle() bool {
	return !slices.ContainsFunc(s.waiting[:], func(t turns[T]) bool { return !t.empty() })
}

// Remove takes out a piece of work that waits no longer, and reports whether it
// waited.
func (s *Schedule[T]) Remove(class Class, shop uuid.UUID, piece T) bool {
	return s.waiting[class].remove(shop, piece)
}

// Next gives a processor to a piece of work and returns it. It reports false if
// nothing waits that may have one.
func (s *Schedule[T]) Next(now time.Time) (piece T, ok bool) {
	class, ok := s.choose(now)
	if !ok {
		return piece, false
	}
	s.running[class]++
	s.since[class] = now
	return s.waiting[class].pop(), true
}

// Done takes back the processor of a piece of work.
func (s *Schedule[T]) Done(class Class) { s.running[class]-- }

// choose chooses the class to serve: one that was passed over for as long as its
// patience lasts, otherwise the first.
func (s *Schedule[T]) choose(now time.Time) (Class, bool) {
	chosen, ok := classes, false
	for class := classes - 1; class >= 0; class-- {
		if !s.admits(class) {
			continue
		}
		if p := patience[class]; p > 0 && now.Sub(s.since[class]) >= p {
			return class, true
		}
		chosen, ok = class, true
	}
	return chosen, ok
}

// admits reports whether a class has work waiting and a processor for it.
func (s *Schedule[T]) admits(class Class) bool {
	if s.waiting[class].empty() {
		return false
	}
	foreground := s.running[Request] + s.running[Order]
	all := foreground + s.running[Bulk]
	allButOne := max(1, s.processors-1)
	switch {
	case class != Bulk: // bulk may still have the last processor, for a step
		return all < s.processors && foreground < allButOne
	case foreground > 0 || !s.waiting[Request].empty() || !s.waiting[Order].empty():
		return all < allButOne
	default:
		return all < s.processors
	}
}
