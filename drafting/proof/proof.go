// Package proof drafts a style or block to many bodies in many variants and
// reports the result: the numbers of drafted, refused and failed drafts with
// their reasons, the largest difference of every check, the cloth and the
// sheets. A style needs a proof before its first order.
package proof

import (
	"context"
	"fmt"
	"math"

	"golang.org/x/sync/errgroup"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/sheets"
)

// A Body has the measurements to draft to.
type Body struct {
	Name   string        `json:"name"` // for the report, such as line 4
	Given  body.Measures `json:"given"`
	Faults fault.List    `json:"faults,omitempty"` // of a row that could not be read: it is refused

	plain *people // of whose sizes the measures are, all as predicted; nil for other bodies
}

// A Variant is one way in which every body is drafted.
type Variant struct {
	Name   string
	Order  drafting.Order // without measurements
	Sheets bool           // count the sheets of A4 too, which takes as long as the draft
}

// A Plan has one draft for each body in each variant: all bodies in the first
// variant, then in the next. The same plan always gives the same result.
type Plan struct {
	Bodies   []Body
	Variants []Variant

	// Private bodies are of known people: reasons are reported without their
	// numbers, which may be measurements.
	Private bool
}

// Len returns the number of drafts.
func (p Plan) Len() int { return len(p.Bodies) * len(p.Variants) }

// Pace says how a plan is run. The zero Pace runs it to the end on one
// processor.
type Pace struct {
	Workers int // drafts at once, at least one

	// Each runs one draft, or returns an error, which ends the run. nil runs it
	// at once.
	Each func(ctx context.Context, draft func(context.Context)) error

	// More reports whether to begin another draft. It is called by one
	// goroutine; nil is always true.
	More func() bool

	// Recovered is called with the value of a panic in a draft, on its stack. The
	// draft counts as failed. nil ignores it.
	Recovered func(ctx context.Context, v any)
}

// A series is a numbered series of drafts: a Plan, or Random orders.
type series interface {
	Len() int
	Where(at int) Where
	order(at int) (drafting.Order, error)
	variant(at int) int // index of the counts to which the draft belongs
	variants() []string
	group(at int) string // what separates the reasons of one draft from others in the same words
	countsSheets(at int) bool
	isPrivate() bool
}

// Run makes the drafts from one on until More returns false or the plan ends.
// It returns the tally of all drafts before next. The error is that of ctx or
// Each.
func (p Plan) Run(ctx context.Context, from int, pace Pace) (t *Tally, next int, err error) {
	return run(ctx, p, from, pace)
}

func run(ctx context.Context, s series, from int, pace Pace) (t *Tally, next int, err error) {
	return share(ctx, s.Len(), from, pace, func() *Tally { return NewTally(len(s.variants())) },
		func(ctx context.Context, at int, t *Tally) { draft(ctx, s, at, t, pace.Recovered) })
}

// A tally sums up pieces of work.
type tally[T any] interface{ Merge(other T) }

// share does pieces of work by their number, from one on, at a pace, each into a
// fresh tally, and merges these.
func share[T tally[T]](ctx context.Context, length, from int, pace Pace, fresh func() T,
	do func(ctx context.Context, at int, t T),
) (t T, next int, err error) {
	workers := max(1, pace.Workers)
	each := pace.Each
	if each == nil {
		each = func(ctx context.Context, draft func(context.Context)) error { draft(ctx); return nil }
	}
	jobs := make(chan int)
	tallies := make([]T, workers) // one for each worker, so that none waits for another
	group, ctx := errgroup.WithContext(ctx)
	for w := range workers {
		tallies[w] = fresh()
		group.Go(func() error {
			for at := range jobs {
				if err := each(ctx, func(ctx context.Context) { do(ctx, at, tallies[w]) }); err != nil {
					return err
				}
			}
			return ctx.Err()
		})
	}
	next = from
	for next < length && ctx.Err() == nil && (pace.More == nil || pace.More()) {
		select {
		case jobs <- next:
			next++
		case <-ctx.Done():
		}
	}
	close(jobs)
	if err := group.Wait(); err != nil {
		return t, from, err
	}
	for _, other := range tallies[1:] {
		tallies[0].Merge(other)
	}
	return tallies[0], next, nil
}

var a4 = sheets.Papers()[0]

// draft makes one draft and adds it to the tally.
func draft(ctx context.Context, s series, at int, t *Tally, recovered func(context.Context, any)) {
	var cloth float64
	pages := -1
	pattern, err := recoverPanic(ctx, recovered, func() (finish.Pattern, error) {
		o, err := s.order(at)
		if err != nil {
			return finish.Pattern{}, err
		}
		pattern, err := drafting.Draft(ctx, o)
		if err == nil && o.Style != "" {
			err = unsewn(pattern)
		}
		if err != nil {
			return pattern, err
		}
		cloth = Cloth(pattern)
		if s.countsSheets(at) {
			pages, err = sheets.PageCount(ctx, pattern, sheets.On(a4))
			err = cost.Named(ctx, err, "counting its pages")
		}
		return pattern, err
	})
	v := s.variant(at)
	if err != nil {
		t.addFailure(at, v, err, s.group(at), s.isPrivate())
		return
	}
	t.addDraft(at, v, pattern, s.group(at), s.isPrivate())
	t.Cloth.add(at, cloth)
	if pages >= 0 {
		t.Sheets.add(at, float64(pages))
	}
}

// recoverPanic returns a panic in draft as an error, so that it is one failed
// draft and the proof goes on.
func recoverPanic(
	ctx context.Context, recovered func(context.Context, any), draft func() (finish.Pattern, error),
) (p finish.Pattern, err error) {
	defer func() {
		if r := recover(); r != nil {
			if recovered != nil {
				recovered(ctx, r)
			}
			err = fmt.Errorf("panic: %v", r)
		}
	}()
	return draft()
}

// Draft makes the draft with that number.
func (p Plan) Draft(ctx context.Context, at int) (finish.Pattern, error) {
	o, err := p.order(at)
	if err != nil {
		return finish.Pattern{}, err
	}
	return drafting.Draft(ctx, o)
}

// order returns the order of the draft with that number, or the faults of its
// body.
func (p Plan) order(at int) (drafting.Order, error) {
	b, o := p.Bodies[at%len(p.Bodies)], p.Variants[p.variant(at)].Order
	o.Measurements = b.Given
	return o, b.Faults.Err()
}

func (p Plan) variant(at int) int { return at / len(p.Bodies) }

func (Plan) group(int) string { return "" }

func (p Plan) countsSheets(at int) bool { return p.Variants[p.variant(at)].Sheets }

func (p Plan) isPrivate() bool { return p.Private }

func (p Plan) variants() []string {
	names := make([]string, len(p.Variants))
	for i, v := range p.Variants {
		names[i] = v.Name
	}
	return names
}

// Cloth returns the area of the main cloth in all pieces in m², times their cut
// counts and without the gaps between them.
func Cloth(p finish.Pattern) float64 {
	area := 0.0
	for _, q := range p.Pieces {
		if q.Cloth != "" {
			continue
		}
		times := float64(q.Cut.Count)
		if q.Cut.OnFold {
			times *= 2
		}
		area += times * math.Abs(q.CutLine.Area())
	}
	return area / 1e6
}
