// Package cloth works out how the pieces of a finished pattern lie on cloth:
// for each cloth of the pattern a lay, the length of cloth that it needs, and
// how much of it the pieces use. The cloth runs along x; lengths are mm.
package cloth

import (
	"context"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
)

// Plan is how all pieces of a pattern are laid, cloth by cloth: the shell
// first, then others in the order in which the pieces name them, interfacing
// last.
type Plan struct {
	Info   finish.Info `json:"info"`
	Cloths []Lay       `json:"cloths"`
}

// Names of cloths. Others are what the pieces call them: lining, rib.
const (
	Shell       = "shell"
	Interfacing = "interfacing"
)

// Lay is the plan for one cloth.
type Lay struct {
	Name     string    `json:"name"`
	Cloth    Cloth     `json:"cloth"`
	Sections []Section `json:"sections"`

	Length     float64 `json:"length"`      // mm to buy: that of the sections before the cloth shrinks
	BottomLeft float64 `json:"bottom_left"` // the same of the plain placing, by which the search is judged
	Used       float64 `json:"used"`        // share of the cloth that the pieces cover, selvedges counted as cloth
}

// Section is a stretch of the lay: folded lengthwise, its fold along y = 0, or
// opened to its full width. A lay on the fold has an open section too, for
// pieces that are too wide for the folded cloth, and for those cut once where
// that takes less cloth than to cut them from one of the two layers.
type Section struct {
	Folded bool    `json:"folded"`
	Width  float64 `json:"width"`  // mm to lay on, shrunk and without selvedges
	Length float64 `json:"length"` // mm, shrunk
	Pieces []Laid  `json:"pieces"`
}

// Laid is a piece where it lies on a section.
type Laid struct {
	Name     string       `json:"piece"`
	Title    string       `json:"title"`
	Number   int          `json:"number"` // of the piece in its pattern, from 1
	Layers   int          `json:"layers"` // of cloth cut at once
	OnFold   bool         `json:"on_fold"`
	FaceDown bool         `json:"face_down"` // cut turned over, as the other hand's piece
	Turned   bool         `json:"turned"`    // end to end, against the nap
	CutLine  geom.Path    `json:"cut_line"`  // on the section
	Grain    geom.Segment `json:"grain"`
}

// Gap is the least distance between two pieces, mm: room for the blade.
const Gap = 3.0

// Tries is the budget of the search for one section, a tenth to a quarter of a
// second's work.
const Tries = 400_000

// New plans the lay of a finished pattern. The same pattern and options give
// the same plan. The error is a fault.List where the options are at fault or
// pieces do not fit their cloth: each of them is named with its number.
func New(ctx context.Context, p finish.Pattern, o Options) (Plan, error) {
	return newPlan(ctx, p, o, Tries)
}

func newPlan(ctx context.Context, p finish.Pattern, o Options, tries int) (Plan, error) {
	cloths := clothsOf(p)
	if err := o.check(cloths); err != nil {
		return Plan{}, err
	}
	plan := Plan{Info: p.Info}
	var faults fault.List
	for _, name := range cloths {
		l, err := newLay(ctx, p, name, o.of(name), tries)
		if list, ok := err.(fault.List); ok {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return Plan{}, err
		}
		plan.Cloths = append(plan.Cloths, l)
	}
	if len(faults) > 0 {
		return Plan{}, faults
	}
	return plan, nil
}

// clothsOf lists the cloths that a pattern is cut from.
func clothsOf(p finish.Pattern) []string {
	var names []string
	interfaced := false
	for _, q := range p.Pieces {
		if name := clothOf(q); !slices.Contains(names, name) && name != Interfacing {
			names = append(names, name)
		}
		interfaced = interfaced || q.Interfacing > 0 || clothOf(q) == Interfacing
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

func clothOf(p finish.Piece) string {
	if p.Cloth == "" {
		return Shell
	}
	return p.Cloth
}

// newLay lays the pieces that are cut from one cloth.
func newLay(ctx context.Context, p finish.Pattern, name string, c Cloth, tries int) (Lay, error) {
	var cuts []cutting
	var faults fault.List
	for i, piece := range p.Pieces {
		count := copiesOf(piece, name)
		if count == 0 {
			continue
		}
		added, err := cuttingsOf(piece, i+1, count, c)
		if err != nil {
			return Lay{}, err
		}
		if need := added[0].least(); need > c.layWidth() {
			faults = append(faults, added[0].tooWide(name, c.wholeWidth(need)))
		}
		cuts = append(cuts, added...)
	}
	if len(faults) > 0 {
		return Lay{}, faults
	}
	best, err := spread(ctx, cuts, c, tries)
	if err != nil {
		return Lay{}, err
	}
	if fromOneLayer, ok := ontoFold(cuts, c); ok {
		other, err := spread(ctx, fromOneLayer, c, tries)
		if err != nil {
			return Lay{}, err
		}
		plain := min(best.plain, other.plain)
		if other.length < best.length {
			best = other
		}
		best.plain = plain
	}
	covered := 0.0
	for _, q := range cuts {
		covered += q.area * float64(q.layers)
	}
	return Lay{
		Name: name, Cloth: c, Sections: best.sections,
		Length: c.unshrunk(best.length), BottomLeft: c.unshrunk(best.plain),
		Used: covered / (best.length * c.shrunkWidth()),
	}, nil
}

// ontoFold lays what is cut once on the folded cloth too, to be cut from one of
// its layers; ok is false where nothing of it fits there, or all else is open.
func ontoFold(cuts []cutting, c Cloth) (moved []cutting, ok bool) {
	folded := false
	for _, q := range cuts {
		folded = folded || q.folded
		if !q.folded && c.Spread == Fold && q.least() <= c.layWidth()/2 {
			q.folded, q.eitherFace = true, true // the one layer's wrong side is up, the other's right side
			ok = true
		}
		moved = append(moved, q)
	}
	return moved, ok && folded
}

// laidOut is what is cut from one cloth, laid; lengths as shrunk.
type laidOut struct {
	sections      []Section
	length, plain float64 // plain: of the bottom-left placing
}

// spread lays folded cloth first, then open.
func spread(ctx context.Context, cuts []cutting, c Cloth, tries int) (laidOut, error) {
	var all laidOut
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
		s := Section{Folded: folded, Width: c.layWidth()}
		if folded {
			s.Width /= 2
		}
		plain, err := s.lay(ctx, on, c, tries)
		if err != nil {
			return laidOut{}, err
		}
		all.sections = append(all.sections, s)
		all.length += s.Length
		all.plain += plain
	}
	return all, nil
}

// copiesOf is how often a piece is cut from a cloth.
func copiesOf(p finish.Piece, cloth string) int {
	count := 0
	if clothOf(p) == cloth {
		count = p.Cut.Count
	}
	if cloth == Interfacing {
		count += p.Interfacing
	}
	return count
}

// lay places the pieces on the section and gives the length of the plain
// placing.
func (s *Section) lay(ctx context.Context, cuts []cutting, c Cloth, tries int) (bottomLeft float64, err error) {
	items := make([]nesting.Item, len(cuts))
	for i, q := range cuts {
		items[i] = q.item(c)
	}
	on := nesting.Strip{Width: s.Width, Gap: Gap}
	placing, ok := nesting.Pack(ctx, items, on, nesting.Budget{Tries: tries, Seed: 1})
	if !ok {
		return 0, fmt.Errorf("a piece does not fit cloth that it was measured to fit")
	}
	s.Length = placing.Length
	for i, q := range cuts {
		s.Pieces = append(s.Pieces, q.laid(placing.Places[i]))
	}
	return placing.Plain, nil
}

// tooWide is the fault of a piece that does not fit.
func (q *cutting) tooWide(cloth string, need float64) fault.Fault {
	return fault.Fault{Code: fault.Range, Field: "/fabric_width", Value: cloth,
		Accepted: fmt.Sprintf("piece %d, %s, needs cloth at least %.0f mm wide", q.number, q.name, math.Ceil(need))}
}
