package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/pattern"
)

var sideVerbs = []declaration{
	{"Measure", `both_sides(number) lengths`,
		`{number} of the right and the left side`,
		`Returns a number that the script works out for the right side and the one for the left side, in this order. ` +
			`Where the sides of a body differ the script runs for each, and what goes round both must agree: add the ` +
			`halves of a neck, take the longer slit with max(), the narrower neckline with min(). Where they are alike ` +
			`both numbers are the same. They are decimal numbers: write int(max(both_sides(n))) for a count. Call it ` +
			`the same number of times for both sides.`,
		bothSides},
}

// Limits of the agreement of two sides.
const (
	maxSideNumbers = 200 // calls of both_sides in one run
	maxAgreements  = 8   // runs of each side until they agree
)

// sideNumbers are the numbers of both_sides, call by call.
type sideNumbers struct {
	own  []float64    // of the side that is drafted
	both [][2]float64 // right and left, as the runs before worked them out
}

func bothSides(c *call) (starlark.Value, error) {
	var v float64
	if err := c.unpack(&v); err != nil {
		return nil, err
	}
	s := &c.sides
	if len(s.own) >= maxSideNumbers {
		return nil, c.errorf("more than %d calls", maxSideNumbers)
	}
	pair := [2]float64{v, v}
	if n := len(s.own); n < len(s.both) {
		pair = s.both[n]
	}
	s.own = append(s.own, v)
	return starlark.Tuple{starlark.Float(pair[0]), starlark.Float(pair[1])}, nil
}

// draftSides drafts the garment on the halves of a body whose sides differ. It runs
// the script for each again with the numbers of both, until these are the same
// as in the run before.
func (s *Style) draftSides(r *run, onRight, onLeft pattern.Pattern, in inputs) (right, left pattern.Pattern,
	err error) {
	if r.trace != nil {
		r.trace.sided = true
	}
	for range maxAgreements {
		var numbers [2][]float64
		var drafted [2]pattern.Pattern
		var failed error
		for i, half := range [...]pattern.Pattern{onRight, onLeft} {
			r.restart()
			if drafted[i], err = s.draftOn(r, half, in); err != nil && failed == nil {
				failed = err
			}
			if r.over != nil {
				return right, left, err
			}
			numbers[i] = r.sides.own
		}
		right, left, err = drafted[0], drafted[1], failed
		if r.sides.agree(numbers) {
			break
		}
	}
	return right, left, err
}

// agree takes the numbers of a run of both sides, and reports whether they are those
// that the run was given. A side that ended before a call has the other's number
// there.
func (s *sideNumbers) agree(numbers [2][]float64) bool {
	before := s.both
	s.both = nil
	agreed := true
	for i := range max(len(numbers[0]), len(numbers[1])) {
		var pair [2]float64
		for side := range pair {
			of := numbers[side]
			if i >= len(of) {
				of = numbers[1-side]
			}
			pair[side] = of[i]
		}
		given := [2]float64{pair[0], pair[0]}
		if i < len(before) {
			given = before[i]
		}
		agreed = agreed && pair == given
		s.both = append(s.both, pair)
	}
	return agreed
}

// restart prepares the run for another run of the script, with the same limits.
func (r *run) restart() {
	r.requires, r.checks, r.openings = nil, nil, nil
	r.thread.Steps, r.stepped, r.memory = 0, 0, 0
	r.sides.own = nil
}
