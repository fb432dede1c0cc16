package wear

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A trunk is the part of a garment that surrounds the body: the pieces around
// it, read level by level.
type trunk struct {
	flats       []flat
	times       []float64 // how often each piece lies around the body
	top, bottom float64
	waist, hip  float64 // NaN without such a line
}

// newTrunk returns the trunk of pieces drawn at one height, and false if they
// have no level in common.
func newTrunk(pieces []pattern.Piece, times func(pattern.Piece) float64) (trunk, bool) {
	t := trunk{top: math.Inf(-1), bottom: math.Inf(1), waist: math.NaN(), hip: math.NaN()}
	for _, q := range pieces {
		f := newFlat(q, geom.Point{}, geom.Pt(0, 1))
		t.flats, t.times = append(t.flats, f), append(t.times, times(q))
		t.top, t.bottom = max(t.top, f.top()), min(t.bottom, f.bottom())
		if y, ok := levelOf(q, "waist"); ok {
			t.waist = y
		}
		if y, ok := levelOf(q, "hip"); ok {
			t.hip = y
		}
	}
	return t, len(pieces) > 0 && t.top+1 < t.bottom-1
}

// narrowest returns the smallest girth of the trunk and its level. A closing
// open down to the level closed adds twice the distance to it.
func (t trunk) narrowest(closed float64) (girth, level float64) {
	girth = math.Inf(1)
	for _, y := range levels(t.top+1, t.bottom-1, t.waist) {
		if around := t.around(y) + 2*max(0, closed-y); around < girth {
			girth, level = around, y
		}
	}
	return girth, level
}

// Narrowest returns the smallest girth in mm of a garment whose halves the
// pieces are, below armholes and darts in the side, and false if they have no
// level in common.
func Narrowest(pieces []pattern.Piece) (float64, bool) {
	t, ok := newTrunk(pieces, func(pattern.Piece) float64 { return 2 })
	if !ok {
		return 0, false
	}
	girth, _ := t.narrowest(math.Inf(-1))
	return girth, true
}

// ClosingNeeded returns how far a closing must open, mm down from the level top,
// so that a garment whose halves the pieces are lets the part pass at every level
// below the opening: the shoulders below a neck, the seat below a waist. It is 0
// where the garment is wide enough closed, and false if the pieces have no level
// in common.
func ClosingNeeded(pieces []pattern.Piece, top float64, part Part, of Lookup) (float64, bool, error) {
	inside := part.inside()
	girth, err := inside.Girth(of, 0)
	if err != nil {
		return 0, false, err
	}
	t, ok := newTrunk(pieces, func(pattern.Piece) float64 { return 2 })
	if !ok {
		return 0, false, nil
	}
	t.endFor(inside)
	var needed float64
	for _, y := range levels(t.top+1, t.bottom-1, t.waist) {
		if short := girth - t.around(y); short > 0 {
			needed = max(needed, y+short/2-top)
		}
	}
	return needed, true, nil
}

// inside returns the part of the body that passes the garment below an opening: a
// neck lets shoulders and bust in, a waist only what lies below it, and so not the
// high hip.
func (p Part) inside() Part {
	switch p {
	case Head:
		return Shoulders
	case Hips:
		return Seat
	}
	return p
}

// endFor ends the trunk at the hip line if it is pulled up over the hips.
func (t *trunk) endFor(part Part) {
	if part == Seat && t.hip < t.bottom {
		t.bottom = t.hip
	}
}

// around returns the girth of the closed trunk at a level.
func (t trunk) around(y float64) float64 {
	var sum float64
	for i, f := range t.flats {
		sum += t.times[i] * f.width(y)
	}
	return sum
}

// trunk returns the check of the level of the trunk that is narrowest for the
// part: down to the hem, or to the hip line if the garment is pulled up over the
// hips; none if it opens at that line. It returns false if the pieces have no level in
// common.
func (o Opening) trunk(p pattern.Pattern, girth float64, part Part) ([]pattern.Check, bool) {
	pieces := make([]pattern.Piece, len(o.Trunk))
	for i, name := range o.Trunk {
		pieces[i], _ = p.Piece(name)
	}
	t, ok := newTrunk(pieces, copies)
	for i, q := range pieces {
		t.top = max(t.top, o.lowest(q, t.flats[i]))
	}
	if !ok || t.top+1 >= t.bottom-1 {
		return nil, false
	}
	if t.endFor(part); t.top+1 >= t.bottom-1 {
		return nil, true // it opens at the hip
	}
	closed := t.top + o.Opens
	if len(o.Closing) > 0 {
		closed = o.closingTop(p) + o.Opens
	}
	around, level := t.narrowest(closed)
	return []pattern.Check{{Name: fmt.Sprintf("%s through %s", part, strings.Join(o.Trunk, " + ")), Target: girth,
		Drafted: around, AtLeast: true, Tolerance: readTol, Where: t.place(level)}}, true
}

// lowest returns the lowest level of the opening's edges and of the neckline on a piece: above it
// the garment is open there, or a band closes it, and the piece surrounds nothing.
func (o Opening) lowest(p pattern.Piece, f flat) float64 {
	_, level, ok := f.extent(func(s side) bool {
		return s.role == pattern.RoleNeckline || slices.Contains(o.Edges, pattern.EdgeRef{Piece: p.Name, Edge: s.run})
	})
	if !ok {
		return math.Inf(-1)
	}
	return level
}

// place says where a level is.
func (t trunk) place(y float64) string {
	switch d := y - t.waist; {
	case math.IsNaN(d):
		return fmt.Sprintf("%.0f mm above its lower edge", t.bottom-y)
	case math.Abs(d) < 0.5:
		return "at the waist"
	case d > 0:
		return fmt.Sprintf("%.0f mm below the waist", d)
	default:
		return fmt.Sprintf("%.0f mm above the waist", -d)
	}
}

// top returns the level below which the piece surrounds the trunk: below an
// armhole, or below its upper edge, and below the mouth of a dart in the side,
// above which the piece lies turned.
func (f flat) top() float64 {
	first, last, _ := f.extent(func(side) bool { return true })
	_, top, ok := f.extent(func(s side) bool { return s.role == pattern.RoleArmhole })
	if !ok {
		_, top = f.rim(first)
	}
	_, mouth, ok := f.extent(func(s side) bool {
		return s.role == pattern.RoleDartMouth && s.last().Y < last-step && !s.level()
	})
	if ok {
		top = max(top, mouth)
	}
	return top
}

// legRun is the edge of a leg opening, where a body ends as at a hem, whatever finishes it.
const legRun = "leg"

// bottom returns the level where the lower end of the piece begins: the highest
// point of its hem or leg opening or, without one, of its lower edge.
func (f flat) bottom() float64 {
	if begins, _, ok := f.extent(func(s side) bool { return s.role == pattern.RoleHem || s.run == legRun }); ok {
		return begins
	}
	_, last, _ := f.extent(func(side) bool { return true })
	begins, _ := f.rim(last)
	return begins
}

// rim returns the levels of the ends of the widest run that reaches a level.
func (f flat) rim(level float64) (low, high float64) {
	wide, run := 0.0, ""
	for _, s := range f.sides {
		across := math.Abs(s.first().X - s.last().X)
		reaches := slices.ContainsFunc(s.points, func(q geom.Point) bool { return math.Abs(q.Y-level) < 0.5 })
		if reaches && s.level() && s.role != pattern.RoleDartMouth && across > wide {
			wide, run = across, s.run
		}
	}
	low, high, ok := f.extent(func(s side) bool { return s.run == run })
	if !ok {
		return level, level
	}
	return low, high
}

// levelOf returns the height of a level line of the piece.
func levelOf(p pattern.Piece, name string) (float64, bool) {
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == name })
	if i < 0 {
		return 0, false
	}
	return p.Lines[i].Path.Start().Y, true
}

// levels returns levels a step apart, both ends, and one more.
func levels(from, to, more float64) []float64 {
	var all []float64
	for y := from; y < to; y += step {
		all = append(all, y)
	}
	all = append(all, to)
	if more > from && more < to {
		all = append(all, more)
	}
	return all
}
