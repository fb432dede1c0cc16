// Package proof drafts one garment or block to many bodies in many ways and
// says how that went: how many were drafted, how many refused and why, how
// many failed and by which rule, the worst difference of every check, cloth and
// sheets. It is what stands between a style and its first order.
package proof

import (
	"context"
	"fmt"
	"math"
	"sync"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/sheets"
)

// A Body is one that is drafted to.
type Body struct {
	Name   string        `json:"name"` // by which a report tells it, such as line 4
	Given  body.Measures `json:"given"`
	Faults fault.List    `json:"faults,omitempty"` // of a row that could not be read: it is refused
}

// A Variant is one way in which every body is drafted.
type Variant struct {
	Name   string
	Order  drafting.Order // without measurements
	Sheets bool           // the sheets of A4 are counted too, which takes as long as the draft
}

// A Plan is every body in every variant, one draft each: all bodies in the
// first variant, then in the next. The same plan gives the same result.
type Plan struct {
	Bodies   []Body
	Variants []Variant

	// Private bodies are of people who are known: reasons are given without
	// their numbers, which may be measurements.
	Private bool
}

// Len is how many drafts the plan is.
func (p Plan) Len() int { return len(p.Bodies) * len(p.Variants) }

// Pace says how a plan is run. The zero Pace runs it to the end on one
// processor.
type Pace struct {
	Workers int                // drafts at once, at least one
	Each    func(draft func()) // makes one draft; nil just calls it
	More    func() bool        // asked before each draft is begun, by one goroutine; nil says yes
}

// Run drafts from a draft on until Pace ends it or the plan is done, and tells
// how far it came: all drafts before next, and none after, are in the tally.
// The error is the context's.
func (p Plan) Run(ctx context.Context, from int, pace Pace) (t *Tally, next int, err error) {
	workers := max(1, pace.Workers)
	each := pace.Each
	if each == nil {
		each = func(draft func()) { draft() }
	}
	jobs := make(chan int)
	tallies := make([]*Tally, workers) // apart, so that none waits for another
	var wg sync.WaitGroup
	for w := range workers {
		tallies[w] = NewTally(len(p.Variants))
		wg.Go(func() {
			for at := range jobs {
				each(func() { p.draft(ctx, at, tallies[w]) })
			}
		})
	}
	next = from
feed:
	for next < p.Len() && (pace.More == nil || pace.More()) {
		select {
		case jobs <- next:
			next++
		case <-ctx.Done():
			break feed
		}
	}
	close(jobs)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, from, err
	}
	for _, other := range tallies[1:] {
		tallies[0].Merge(other)
	}
	return tallies[0], next, nil
}

var a4 = sheets.Papers()[0]

// draft makes one draft and counts it.
func (p Plan) draft(ctx context.Context, at int, t *Tally) {
	v := at / len(p.Bodies)
	var cloth float64
	pages := -1
	pattern, err := guarded(func() (finish.Pattern, error) {
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
		t.lost(at, v, err, p.Private)
		return
	}
	t.drafted(at, v, pattern, p.Private)
	t.Cloth.add(at, cloth)
	if pages >= 0 {
		t.Sheets.add(at, float64(pages))
	}
}

// guarded makes a panic a failed draft like any other: the proof goes on and
// names it.
func guarded(draft func() (finish.Pattern, error)) (p finish.Pattern, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v", r)
		}
	}()
	return draft()
}

// Draft makes the draft of the plan with that number.
func (p Plan) Draft(ctx context.Context, at int) (finish.Pattern, error) {
	b, o := p.Bodies[at%len(p.Bodies)], p.Variants[at/len(p.Bodies)].Order
	if len(b.Faults) > 0 {
		return finish.Pattern{}, b.Faults
	}
	o.Measurements = b.Given
	return drafting.Draft(ctx, o)
}

// Cloth is the area of the main cloth in all pieces, m², as often as each is
// cut and without what lies between them.
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
