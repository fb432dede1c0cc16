package drafting

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/compare"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
)

// Estimate is a measurement that is missing from an order and was estimated for
// its draft, with what an error in it would do to the pattern.
type Estimate struct {
	Name body.Name
	body.Measure

	// Move is the largest move of any piece's seam line, mm, when the
	// measurement is given as one spread more or less than estimated and what
	// follows from it is estimated again. One body in three is farther off. 0
	// says that the pattern does not depend on it.
	Move  float64
	Piece string // the piece that moves most

	// Refused holds the reasons where either of those can't be drafted.
	Refused fault.List
}

// Estimates drafts an order again with each of its estimated measurements off
// by its spread, two drafts an estimate. The measurement whose error matters
// most comes first. The error is that of Draft.
func Estimates(ctx context.Context, o Order) ([]Estimate, error) {
	drafted, err := Draft(ctx, o)
	if err != nil {
		return nil, err
	}
	spec, request, err := o.Request()
	if err != nil {
		return nil, err
	}
	list := []Estimate{}
	requires, uses := o.Needs(spec)
	for _, n := range slices.Concat(requires, uses) {
		m := request.Body.Get(n)
		if !m.Estimated || m.Spread <= 0 {
			continue
		}
		e := Estimate{Name: n, Measure: m}
		for _, off := range [...]float64{-m.Spread, m.Spread} {
			other, err := Draft(ctx, o.with(n, m.Value+off))
			if ctx.Err() != nil || cost.Of(ctx, err) != nil {
				return nil, err
			}
			switch faults, ok := errors.AsType[fault.List](err); {
			case ok:
				e.Refused = append(e.Refused, faults...)
			case err != nil:
				e.Refused = append(e.Refused, fault.Fault{Code: fault.Undraftable, Accepted: err.Error()})
			default:
				if err := e.compare(ctx, drafted, other); err != nil {
					return nil, cost.Named(ctx, err, "the estimates")
				}
			}
		}
		list = append(list, e)
	}
	slices.SortStableFunc(list, func(a, b Estimate) int {
		return cmp.Or(cmp.Compare(len(b.Refused), len(a.Refused)), cmp.Compare(b.Move, a.Move))
	})
	return list, nil
}

// with returns the order with one measurement given, within its hard limits.
func (o Order) with(n body.Name, v float64) Order {
	info, _ := body.Lookup(n)
	given := maps.Clone(o.Measurements)
	given[n] = math.Min(math.Max(v, info.Min), info.Max)
	o.Measurements = given
	return o
}

// compare notes the largest move from a draft to another. A piece that only one
// of them has counts as no move: that takes another choice, not another
// measurement.
func (e *Estimate) compare(ctx context.Context, was, now finish.Pattern) error {
	d, err := compare.Patterns(ctx, was, now)
	for _, p := range d.Pieces {
		if p.Move.Largest > e.Move {
			e.Move, e.Piece = p.Move.Largest, p.Name
		}
	}
	return err
}
