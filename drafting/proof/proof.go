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
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/sheets"
)

// A Body has the measurements to draft to.
type Body struct {
	Name   string        `json:"name"` // for the report, such as line 4
	Given  body.Measures `json:"given"`
	Faults fault.List    `json:"faults,omitempty"` // of a row that could not be read: it is refused
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
}

// Run makes the drafts from one on until More returns false or the plan ends.
// It returns the tally of all drafts before next. The error is that of ctx or
// Each.
func (p Plan) Run(ctx context.Context, from int, pace Pace) (t *Tally, next int, err error) {
	workers := max(1, pace.Workers)
	each := pace.Each
	if each == nil {
		each = func(ctx context.Context, draft func(context.Context)) error { draft(ctx); return nil }
	}
	jobs := make(chan int)
	tallies := make([]*Tally, workers) // one for each worker, so that none waits for another
	group, ctx := errgroup.WithContext(ctx)
	for w := range workers {
		tallies[w] = NewTally(len(p.Variants))
		group.Go(func() error {
			for at := range jobs {
				if err := each(ctx, func(ctx context.Context) { p.draft(ctx, at, tallies[w]) }); err != nil {
					return err
				}
			}
			return ctx.Err()
		})
	}
	next = from
	for next < p.Len() && ctx.Err() == nil && (pace.More == nil || pace.More()) {
		select {
		case jobs <- next:
			next++
		case <-ctx.Done():
		}
	}
	close(jobs)
	if err := group.Wait(); err != nil {
		return nil, from, err
	}
	for _, other := range tallies[1:] {
		tallies[0].Merge(other)
	}
	return tallies[0], next, nil
}

var a4 = sheets.Papers()[0]

// draft makes one draft and adds it to the tally.
func (p Plan) draft(ctx context.Context, at int, t *Tally) {
	v := at / len(p.Bodies)
	var cloth float64
	pages := -1
	pattern, err := recoverPanic(func() (finish.Pattern, error) {
		pattern, err := p.Draft(ctx, at)
		if err != nil {
			return pattern, err
		}
		cloth = Cloth(pattern)
		if p.Variants[v].Sheets {
			pages, err = sheets.PageCount(ctx, pattern, sheets.On(a4))
		}
		return pattern, err
	})
	if err != nil {
		t.addFailure(at, v, err, p.Private)
		return
	}
	t.addDraft(at, v, pattern, p.Private)
	t.Cloth.add(at, cloth)
	if pages >= 0 {
		t.Sheets.add(at, float64(pages))
	}
}

// recoverPanic returns a panic in draft as an error, so that it is one failed
// draft and the proof goes on.
func recoverPanic(draft func() (finish.Pattern, error)) (p finish.Pattern, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v", r)
		}
	}()
	return draft()
}

// Draft makes the draft with that number.
func (p Plan) Draft(ctx context.Context, at int) (finish.Pattern, error) {
	b, o := p.Bodies[at%len(p.Bodies)], p.Variants[at/len(p.Bodies)].Order
	if len(b.Faults) > 0 {
		return finish.Pattern{}, b.Faults
	}
	o.Measurements = b.Given
	return drafting.Draft(ctx, o)
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
