package drafting

import (
	"cmp"
	"errors"
	"maps"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/compare"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
)

// Estimate is a measurement that an order did not give and its draft went by,
// with what being wrong about it would do to the pattern.
type Estimate struct {
	Name body.Name
	body.Measure

	// Move is how far the seam line of the piece moves that moves most, mm,
	// when the measurement is given as one spread more or less than estimated
	// and whatever follows from it is estimated anew. One body in three is
	// farther off. 0 says that the pattern does not go by it.
	Move  float64
	Piece string // which piece that is

	// Refused are the reasons where there is no draft of the one or the other.
	Refused fault.List
}

// Estimates drafts an order again with each of its estimated measurements off
// by its spread, and tells what that changes: the one to measure first comes
// first. It costs two drafts an estimate. The error is that of Draft.
func Estimates(o Order) ([]Estimate, error) {
	drafted, err := Draft(o)
	if err != nil {
		return nil, err
	}
	spec, request, err := o.Request()
	if err != nil {
		return nil, err
	}
	list := []Estimate{}
	for _, n := range slices.Concat(spec.Requires, spec.Uses) {
		m := request.Body.Get(n)
		if !m.Estimated || m.Spread <= 0 {
			continue
		}
		e := Estimate{Name: n, Measure: m}
		for _, off := range [...]float64{-m.Spread, m.Spread} {
			other, err := Draft(o.with(n, m.Value+off))
			switch faults, ok := errors.AsType[fault.List](err); {
			case ok:
				e.Refused = append(e.Refused, faults...)
			case err != nil:
				e.Refused = append(e.Refused, fault.Fault{Code: fault.Undraftable, Accepted: err.Error()})
			default:
				e.worse(drafted, other)
			}
		}
		list = append(list, e)
	}
	slices.SortStableFunc(list, func(a, b Estimate) int {
		return cmp.Or(cmp.Compare(len(b.Refused), len(a.Refused)), cmp.Compare(b.Move, a.Move))
	})
	return list, nil
}

// with is the order with one measurement given, within its hard limits.
func (o Order) with(n body.Name, v float64) Order {
	info, _ := body.Lookup(n)
	given := maps.Clone(o.Measurements)
	given[n] = math.Min(math.Max(v, info.Min), info.Max)
	o.Measurements = given
	return o
}

// worse takes in how far the other draft lies from the one that was made. A
// piece that only one of them has counts as no move: that takes another choice,
// not another measurement.
func (e *Estimate) worse(made, other finish.Pattern) {
	for _, p := range compare.Patterns(made, other).Pieces {
		if p.Move.Largest > e.Move {
			e.Move, e.Piece = p.Move.Largest, p.Name
		}
	}
}
