package fitting

import (
	"cmp"
	"math"
	"slices"
)

// A Reading is a number read at a place that is judged.
type Reading struct {
	Kind  Kind    `json:"kind"`
	Place string  `json:"place"`
	Value float64 `json:"value"` // in Unit; of NotPutOn the girth, which is not to be less than its limit
	Unit  string  `json:"unit"`  // "%" or "mm"
	Limit float64 `json:"limit"`
}

// over returns by which share of its limit a reading is beyond it; a negative one
// is within it.
func (r Reading) over() float64 {
	if r.Kind == NotPutOn {
		return (r.Limit - r.Value) / max(r.Limit, 1)
	}
	return (r.Value - r.Limit) / max(r.Limit, 1)
}

// An Effect says what becomes of a finding.
type Effect string

// The effects of a change of the draft on a finding.
const (
	New     Effect = "new"
	Gone    Effect = "gone"
	Tighter Effect = "tighter" // of Tight and NotPutOn
	Looser  Effect = "looser"
	Worse   Effect = "worse" // of the other kinds
	Better  Effect = "better"
	Same    Effect = "same"
)

// A Change says what becomes of a finding from one fitting of a wearer to another.
type Change struct {
	Kind   Kind
	Place  string
	Effect Effect
	Before *float64 // in Unit; nil where the place was not judged
	After  *float64
	Unit   string
	Limit  float64
	Worse  float64 // by which share of the limit it gets worse
}

// Differences from which on a finding has changed: what a cutter feels or sees.
const (
	leastStrain = 0.1 // %
	leastLength = 1.0 // mm
)

// Changes returns what becomes of each finding of the fittings of a wearer before
// and after a change of the draft, those that get worst first. A place that is
// within its limit in both is left out.
func Changes(before, after Report) []Change {
	type place struct {
		Kind  Kind
		Place string
	}
	type pair struct{ before, after *Reading }
	var order []place
	pairs := map[place]pair{}
	keep := func(r Reading, of func(*pair) **Reading) {
		at := place{r.Kind, r.Place}
		p, ok := pairs[at]
		if !ok {
			order = append(order, at)
		}
		if had := of(&p); *had == nil || (*had).over() < r.over() {
			*had = &r
		}
		pairs[at] = p
	}
	for _, r := range before.Readings {
		keep(r, func(p *pair) **Reading { return &p.before })
	}
	for _, r := range after.Readings {
		keep(r, func(p *pair) **Reading { return &p.after })
	}
	var list []Change
	for _, at := range order {
		if p := pairs[at]; p.before.found() || p.after.found() {
			list = append(list, change(p.before, p.after))
		}
	}
	slices.SortStableFunc(list, func(a, b Change) int { return cmp.Compare(b.Worse, a.Worse) })
	return list
}

// found reports whether a reading is a finding.
func (r *Reading) found() bool { return r != nil && r.over() > 0 }

// change compares two readings of a place, one of which may be nil.
func change(before, after *Reading) Change {
	either := after
	if either == nil {
		either = before
	}
	c := Change{Kind: either.Kind, Place: either.Place, Unit: either.Unit, Limit: either.Limit}
	if before != nil {
		c.Before = &before.Value
		c.Worse -= before.over()
	}
	if after != nil {
		c.After = &after.Value
		c.Worse += after.over()
	}
	switch {
	case !before.found():
		c.Effect = New
	case !after.found():
		c.Effect = Gone
	default:
		c.Effect = effect(*before, *after)
	}
	return c
}

// effect says what becomes of a finding that stays one.
func effect(before, after Reading) Effect {
	least := leastLength
	if after.Unit == "%" {
		least = leastStrain
	}
	girth := after.Kind == Tight || after.Kind == NotPutOn
	switch worse := after.over() > before.over(); {
	case math.Abs(after.Value-before.Value) < least:
		return Same
	case girth && worse:
		return Tighter
	case girth:
		return Looser
	case worse:
		return Worse
	}
	return Better
}
