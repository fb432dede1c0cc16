package wear

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// flatTol is the chord error of a flattened outline, mm.
const flatTol = 0.2

// A flat is the outline of a piece as a polyline in a frame of its own: across
// and up, mm. It is cut into sections at levels of up.
type flat struct {
	sides []side
	darts [][2][]geom.Point
}

// A side is one edge of the outline.
type side struct {
	run    string
	role   pattern.Role
	points []geom.Point
}

// newFlat flattens a piece. The frame has its origin at a point and its second
// axis along up.
func newFlat(p pattern.Piece, origin, up geom.Point) flat {
	across := up.Right()
	toFrame := func(path geom.Path) []geom.Point {
		points := path.Flatten(flatTol)
		for i, q := range points {
			v := q.Sub(origin)
			points[i] = geom.Pt(v.Dot(across), v.Dot(up))
		}
		return points
	}
	var f flat
	for _, e := range p.Edges {
		f.sides = append(f.sides, side{e.Run, e.Role, toFrame(e.Path)})
	}
	for _, d := range p.Darts {
		f.darts = append(f.darts, [2][]geom.Point{toFrame(d.Legs[0]), toFrame(d.Legs[1])})
	}
	return f
}

func (s side) first() geom.Point { return s.points[0] }
func (s side) last() geom.Point  { return s.points[len(s.points)-1] }

// level reports whether the side runs more across than up.
func (s side) level() bool {
	return math.Abs(s.first().X-s.last().X) > math.Abs(s.first().Y-s.last().Y)
}

// A crossing is where a level meets the outline.
type crossing struct {
	at   float64 // across
	side *side
}

// crossings returns where a level meets the outline, in order.
func (f flat) crossings(level float64) []crossing {
	var found []crossing
	for i := range f.sides {
		s := &f.sides[i]
		for _, x := range meet(s.points, level) {
			found = append(found, crossing{x, s})
		}
	}
	slices.SortFunc(found, func(a, b crossing) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	return found
}

// meet returns where a polyline meets a level.
func meet(points []geom.Point, level float64) []float64 {
	var found []float64
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if (a.Y <= level) != (b.Y <= level) {
			found = append(found, a.X+(level-a.Y)/(b.Y-a.Y)*(b.X-a.X))
		}
	}
	return found
}

// width returns the width of the piece at a level, less the darts there.
func (f flat) width(level float64) float64 {
	var sum float64
	all := f.crossings(level)
	for i := 1; i < len(all); i += 2 {
		sum += all[i].at - all[i-1].at
	}
	for _, d := range f.darts {
		sum -= taken(d, level)
	}
	return sum
}

// taken returns what a sewn dart takes out of the width at a level. Across a dart from
// the side the level enters one leg, and goes on from the point of the other that is
// sewn to it.
func taken(legs [2][]geom.Point, level float64) float64 {
	a, b := meet(legs[0], level), meet(legs[1], level)
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	first, last := legs[0][0], legs[0][len(legs[0])-1]
	if math.Abs(first.X-last.X) <= math.Abs(first.Y-last.Y) {
		return math.Abs(a[0] - b[0])
	}
	enters, from, to := a[0], legs[0], legs[1]
	if math.Abs(b[0]-last.X) < math.Abs(a[0]-last.X) {
		enters, from, to = b[0], legs[1], legs[0]
	}
	// Both legs are equally long from the mouth: near enough as shares of their run across.
	share := (enters - from[0].X) / (last.X - from[0].X)
	return math.Abs(enters - (to[0].X + share*(last.X-to[0].X)))
}

// between returns the width at a level of the part of the piece that lies
// between two runs, and false if the level does not lead from one to the other.
func (f flat) between(level float64, a, b string) (float64, bool) {
	all := f.crossings(level)
	for i := 1; i < len(all); i += 2 {
		from, to := all[i-1].side.run, all[i].side.run
		if from == a && to == b || from == b && to == a {
			return all[i].at - all[i-1].at, true
		}
	}
	return 0, false
}

// atMouth reports whether a level meets the mouth of a dart.
func (f flat) atMouth(level float64) bool {
	return slices.ContainsFunc(f.sides, func(s side) bool {
		return s.role == pattern.RoleDartMouth && len(meet(s.points, level)) > 0
	})
}

// extent returns the lowest and the highest level of the sides for which keep
// is true, and false if there are none.
func (f flat) extent(keep func(s side) bool) (low, high float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range f.sides {
		if !keep(s) {
			continue
		}
		for _, q := range s.points {
			low, high = min(low, q.Y), max(high, q.Y)
		}
	}
	return low, high, low <= high
}
