// Package cloth works out how the pieces of a finished pattern lie on cloth:
// for each cloth of the pattern a lay, the length to buy, and the share of it
// that the pieces use. The cloth runs along x; lengths are mm.
package cloth

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
)

// Plan is the lay plan of a pattern, cloth by cloth: the shell first, then
// others in the order in which the pieces name them, interfacing last.
type Plan struct {
	Style  string // of the pattern
	Label  finish.Label
	Cloths []Lay
}

// Names of cloths. The pieces name others, such as lining or rib.
const (
	Shell       = "shell"
	Interfacing = "interfacing"
)

// Lay is the plan for one cloth.
type Lay struct {
	Name     string
	Cloth    Cloth
	Sections []Section

	Length     float64 // mm to buy, before the cloth shrinks
	BottomLeft float64 // the same for the bottom-left packing, as a baseline
	Used       float64 // share of the cloth that the pieces cover, selvedges included
}

// Section is a stretch of the lay: folded lengthwise with the fold along y = 0,
// or open to its full width. A lay on the fold has an open section too, for
// pieces that are too wide for the folded cloth and for pieces cut once if that
// takes less cloth than cutting them from one of the two layers.
type Section struct {
	Folded bool
	Width  float64 // usable mm, shrunk and without selvedges
	Length float64 // mm, shrunk
	Pieces []Placement
}

// Placement is a piece's place on a section.
type Placement struct {
	Name     string
	Title    string
	Number   int // of the piece in its pattern, from 1
	Layers   int // of cloth cut at once
	OnFold   bool
	FaceDown bool      // the mirrored piece of a pair
	Turned   bool      // end to end
	CutLine  geom.Path // on the section
	Grain    geom.Segment
}

// Gap is the smallest distance between two pieces, mm: room for the blade.
const Gap = 3.0

// Tries is the budget of the search for one section: a tenth to a quarter of a
// second of work.
const Tries = 400_000

// NewPlan plans how a finished pattern lies on cloth. The same pattern and
// options give the same plan. The error is a fault.List if the options are wrong
// or pieces do not fit their cloth, with a fault for each such piece, and the
// context's error once it is cancelled.
func NewPlan(ctx context.Context, p finish.Pattern, o Options) (Plan, error) {
	return newPlan(ctx, p, o, Tries)
}

func newPlan(ctx context.Context, p finish.Pattern, o Options, tries int) (Plan, error) {
	cloths := Names(p)
	if err := o.check(cloths); err != nil {
		return Plan{}, err
	}
	plan := Plan{Style: p.Style, Label: p.Label}
	var faults fault.List
	for _, name := range cloths {
		l, err := newLay(ctx, p, name, o.of(name), tries)
		if list, ok := errors.AsType[fault.List](err); ok {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return Plan{}, err
		}
		plan.Cloths = append(plan.Cloths, l)
	}
	if err := faults.Err(); err != nil {
		return Plan{}, err
	}
	return plan, nil
}

// Names returns the names of a pattern's cloths.
func Names(p finish.Pattern) []string {
	var names []string
	interfaced := false
	for _, q := range p.Pieces {
		if name := Of(q); !slices.Contains(names, name) && name != Interfacing {
			names = append(names, name)
		}
		interfaced = interfaced || q.Interfacing > 0 || Of(q) == Interfacing
	}
	slices.SortStableFunc(names, func(a, b string) int {
		switch {
		case a == Shell:
			return -1
		case b == Shell:
			return 1
		}
		return 0
	})
	if interfaced {
		names = append(names, Interfacing)
	}
	return names
}

// Of returns the name of a piece's cloth.
func Of(p finish.Piece) string {
	if p.Cloth == "" {
		return Shell
	}
	return p.Cloth
}

// newLay plans one cloth.
func newLay(ctx context.Context, p finish.Pattern, name string, c Cloth, tries int) (Lay, error) {
	var cuts []cutting
	var faults fault.List
	for i, piece := range p.Pieces {
		if err := cost.Step(ctx); err != nil {
			return Lay{}, err
		}
		count := copiesOf(piece, name)
		if count == 0 {
			continue
		}
		added, err := cuttingsOf(piece, i+1, count, c)
		if err != nil {
			return Lay{}, err
		}
		if need := added[0].minWidth(); need > c.usableWidth() {
			faults = append(faults, added[0].tooWide(name, c.widthToBuy(need)))
		}
		cuts = append(cuts, added...)
	}
	if err := faults.Err(); err != nil {
		return Lay{}, err
	}
	best, err := arrange(ctx, cuts, c, tries)
	if err != nil {
		return Lay{}, err
	}
	if fromOneLayer, ok := ontoFold(cuts, c); ok {
		other, err := arrange(ctx, fromOneLayer, c, tries)
		if err != nil {
			return Lay{}, err
		}
		bottomLeft := min(best.bottomLeft, other.bottomLeft)
		if other.length < best.length {
			best = other
		}
		best.bottomLeft = bottomLeft
	}
	covered := 0.0
	for _, q := range cuts {
		covered += q.area * float64(q.layers)
	}
	return Lay{
		Name: name, Cloth: c, Sections: best.sections,
		Length: c.lengthToBuy(best.length), BottomLeft: c.lengthToBuy(best.bottomLeft),
		Used: covered / (best.length * c.shrunkWidth()),
	}, nil
}

// ontoFold moves the pieces that are cut once to the folded cloth, to be cut from
// one of its layers. ok is false if none of them fits there, or no other piece
// lies on folded cloth.
func ontoFold(cuts []cutting, c Cloth) (moved []cutting, ok bool) {
	folded := false
	for _, q := range cuts {
		folded = folded || q.folded
		if !q.folded && c.Spread == Fold && q.minWidth() <= c.usableWidth()/2 {
			q.folded, q.eitherFace = true, true // one layer lies right side up, the other wrong side up
			ok = true
		}
		moved = append(moved, q)
	}
	return moved, ok && folded
}

// arrangement is the sections of one cloth, with their total lengths as shrunk.
type arrangement struct {
	sections           []Section
	length, bottomLeft float64
}

// arrange places the cuttings on folded cloth first, then on open cloth.
func arrange(ctx context.Context, cuts []cutting, c Cloth, tries int) (arrangement, error) {
	var all arrangement
	for _, folded := range []bool{true, false} {
		var on []cutting
		for _, q := range cuts {
			if q.folded == folded {
				on = append(on, q)
			}
		}
		if len(on) == 0 {
			continue
		}
		s := Section{Folded: folded, Width: c.usableWidth()}
		if folded {
			s.Width /= 2
		}
		bottomLeft, err := s.pack(ctx, on, c, tries)
		if err != nil {
			return arrangement{}, err
		}
		all.sections = append(all.sections, s)
		all.length += s.Length
		all.bottomLeft += bottomLeft
	}
	return all, nil
}

// copiesOf returns how many times a piece is cut from a cloth.
func copiesOf(p finish.Piece, cloth string) int {
	count := 0
	if Of(p) == cloth {
		count = p.Cut.Count
	}
	if cloth == Interfacing {
		count += p.Interfacing
	}
	return count
}

// Count returns how many pieces of a pattern are cut from a cloth, and how often in
// all.
func Count(p finish.Pattern, cloth string) (pieces, copies int) {
	for _, q := range p.Pieces {
		if n := copiesOf(q, cloth); n > 0 {
			pieces++
			copies += n
		}
	}
	return pieces, copies
}

// pack places the cuttings on the section and returns the length of the
// bottom-left packing.
func (s *Section) pack(ctx context.Context, cuts []cutting, c Cloth, tries int) (bottomLeft float64, err error) {
	items := make([]nesting.Item, len(cuts))
	for i, q := range cuts {
		items[i] = q.item(c)
	}
	on := nesting.Strip{Width: s.Width, Gap: Gap}
	packing, err := nesting.Pack(ctx, items, on, nesting.Budget{Tries: tries, Seed: 1})
	if err != nil {
		return 0, fmt.Errorf("pack cloth: %w", err)
	}
	s.Length = packing.Length
	for i, q := range cuts {
		s.Pieces = append(s.Pieces, q.place(packing.Placements[i]))
	}
	return packing.BottomLeft, nil
}

// tooWide returns the fault of a piece that does not fit.
func (q *cutting) tooWide(cloth string, need float64) fault.Fault {
	return fault.Fault{Code: fault.Range, Field: "/cloth_width", Value: cloth,
		Accepted: fmt.Sprintf("piece %d, %s, needs cloth at least %.0f mm wide", q.number, q.name, math.Ceil(need))}
}
