// Package cost ends work that costs more than it may, and lets long work make
// way for other work. The service decides how much time and memory work has and
// when it makes way; drafting calls Step and Take in its loops.
package cost

import (
	"context"
	"errors"
	"fmt"
)

// Memory is how many bytes a piece of work may take by default. A built-in
// garment takes less than a tenth.
const Memory = 64 << 20

// Error is the error of work that exceeds its budget.
type Error struct {
	What  string // what was costly: "line 12 of the script"; "" if unknown
	Limit string // what it exceeded: "2 s of processor time", "64 MB of memory"
}

// Error returns what was costly and the limit, for users.
func (e *Error) Error() string {
	what := e.What
	if what == "" {
		what = "the work"
	}
	return what + " takes more than " + e.Limit
}

// Of returns the *Error of work that ended with err, nil if err has another
// reason: err is one, or it says that ctx ended and its budget was used up.
func Of(ctx context.Context, err error) *Error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*Error](err); ok {
		return e
	}
	if ended := ctx.Err(); ended == nil || !errors.Is(err, ended) {
		return nil
	}
	e, _ := errors.AsType[*Error](context.Cause(ctx))
	return e
}

// Named returns err, or, if it is the error of exceeded work of ctx that does not
// say what was costly, an *Error that does.
func Named(ctx context.Context, err error, what string) error {
	e := Of(ctx, err)
	if e == nil || e.What != "" {
		return err
	}
	return &Error{what, e.Limit}
}

// Meter limits the work of a context.
type Meter struct {
	Pause  func() error          // lets other work go first, if it is its turn; nil for never
	Room   func(bytes int) error // waits until there is room for bytes beside other work; nil if there always is
	Memory int                   // bytes that the work may take in all
	taken  int
}

type meterKey struct{}

// With returns a context whose work m limits.
func With(ctx context.Context, m *Meter) context.Context {
	return context.WithValue(ctx, meterKey{}, m)
}

// Step is called by long work every few milliseconds at most, with no lock held.
// It lets other work go first if it is its turn, and returns an error once ctx has
// ended.
func Step(ctx context.Context) error {
	if m, ok := ctx.Value(meterKey{}).(*Meter); ok && m.Pause != nil {
		if err := m.Pause(); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// Ended calls Step and reports whether the work of ctx must end.
func Ended(ctx context.Context) bool { return Step(ctx) != nil }

// Take counts memory that work is about to take, waits until there is room for it,
// and does what Step does. The error is an *Error if the work has none left.
func Take(ctx context.Context, bytes int) error {
	if m, ok := ctx.Value(meterKey{}).(*Meter); ok {
		if m.taken += bytes; m.taken > m.Memory {
			return &Error{Limit: fmt.Sprintf("%d MB of memory", m.Memory>>20)}
		}
		if m.Room != nil {
			if err := m.Room(bytes); err != nil {
				return err
			}
		}
	}
	return Step(ctx)
}
