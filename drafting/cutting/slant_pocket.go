package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A SlantPocket holds the dimensions of a pocket behind a slanting edge, mm.
type SlantPocket struct {
	Waist, Side string  // edges that meet at the corner that is cut off
	Across      float64 // where the slant starts, along the waist from the side
	Opening     float64 // where it ends, down the side
	Bag         float64 // depth of the bag below that
}

// Dimensions of a slanting pocket, mm (common practice).
const (
	slantReach  = 70   // of the bag's upper edge along the waist, beyond the slant
	slantClear  = 6    // of the bag beside a dart
	slantLeast  = 8    // of its upper edge
	slantShare  = 0.62 // of the half hip, width of the bag
	slantWidest = 150
	slantAbove  = 45 // of the bag above the hem
	slantBelow  = 30 // of the bag below the opening, at least
)

// CutSlantPocket cuts the corner between waist and side off a front, and returns the front and
// both layers of the bag behind it: the under layer, which carries the corner, and the upper layer,
// sewn to the front along the slant. It is clear of the darts in the waist. The new edge of the
// front is named slant. The error is a *RoomError where there is no room for it.
func CutSlantPocket(front pattern.Piece, name, title string, s SlantPocket) (pattern.Piece, [2]pattern.Piece, error) {
	var none [2]pattern.Piece
	for _, run := range [...]string{s.Waist, s.Side} {
		if err := checkRun(front, run); err != nil {
			return front, none, err
		}
	}
	waist, side := front.Run(s.Waist), front.Run(s.Side)
	if !waist.End().Near(side.Start(), fitTol) {
		return front, none, newError(front, s.Waist, "%s must follow it along the outline", s.Side)
	}
	if err := checkDimensions(front, dimension{"across", s.Across, 10, 150}, dimension{"opening", s.Opening, 80, 300},
		dimension{"bag", s.Bag, slantBelow, 250}); err != nil {
		return front, none, err
	}
	room := besideDarts(front, waist)
	across := math.Min(s.Across, 0.55*room)
	reach := math.Min(across+slantReach, room-slantClear)
	if reach-across < slantLeast {
		return front, none, noRoom("There are %.0f mm between dart and side: no room for a slanted pocket.", room)
	}
	depth := math.Min(s.Opening+s.Bag, side.Length()-slantAbove)
	if depth < s.Opening+slantBelow {
		return front, none, noRoom("The pocket opens %.0f mm down the side, which is %.0f mm long.", s.Opening,
			side.Length())
	}
	n := waist.Length()
	top, foot := waist.At(n-across), side.At(s.Opening)
	bagTop, bagFoot := waist.At(n-reach), side.At(depth)
	wide := math.Min(slantShare*hipWidth(front, foot.Y), slantWidest)
	low := bagFoot.Add(geom.Pt(-0.55*wide, 12))
	inner := geom.Pt(side.Start().X-wide, (foot.Y+bagFoot.Y)/2)
	bag, err := geom.Spline([]geom.Point{bagFoot, low, inner, bagTop}, geom.Pt(-1, 0), geom.Pt(0, -1), 1)
	if err != nil {
		return front, none, newError(front, s.Side, "no bag can be drawn: %v", err)
	}
	slant := geom.Path{geom.Line(top, foot)}
	under := bagLayer(name+"_under", title+", under layer",
		newEdge("waist_in", pattern.RoleSeam, waist.Part(n-reach, n-across)),
		newEdge("waist_out", pattern.RoleSeam, waist.Part(n-across, n)),
		newEdge("side_top", pattern.RoleSeam, side.Part(0, s.Opening)),
		newEdge("side_low", pattern.RoleSeam, side.Part(s.Opening, depth)), newEdge("bag", pattern.RoleSeam, bag))
	upper := bagLayer(name+"_upper", title+", upper layer",
		newEdge("waist", pattern.RoleSeam, waist.Part(n-reach, n-across)), newEdge("slant", pattern.RoleSeam, slant),
		newEdge("side", pattern.RoleSeam, side.Part(s.Opening, depth)), newEdge("bag", pattern.RoleSeam, bag))
	upper.Cloth = "pocketing"
	parts, err := CutApart(front, slant, nil, "slant", [2]string{name + "_corner", front.Name})
	return parts[1], [2]pattern.Piece{under, upper}, err
}

// bagLayer returns a layer of a bag. Edges cut out of one path meet only as nearly as they were cut.
func bagLayer(name, title string, edges ...pattern.Edge) pattern.Piece {
	for i, e := range edges {
		next := &edges[(i+1)%len(edges)]
		next.Path = next.Path.MoveStart(e.Path.End())
	}
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, Pair: true}, Edges: edges}
	return GrainAlong(p, geom.Pt(0, 1))
}

// besideDarts returns how far the last dart or pleat of a waist lies from its end.
func besideDarts(p pattern.Piece, waist geom.Path) float64 {
	room := waist.Length()
	for _, d := range p.Darts {
		if len(d.Legs[1]) == 0 {
			continue
		}
		if _, off, along := waist.Nearest(d.Legs[1].Start()); off < fitTol {
			room = math.Min(room, waist.Length()-along)
		}
	}
	return room
}

// hipWidth returns the width of a piece at its hip line, or at the height y if it has none.
func hipWidth(p pattern.Piece, y float64) float64 {
	for _, l := range p.Lines {
		if l.Name == "hip" {
			return l.Path.Start().Dist(l.Path.End())
		}
	}
	return WidthAt(p, y)
}
