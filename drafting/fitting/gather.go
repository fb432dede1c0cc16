package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/drape"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A gather is an edge that is drawn in as it is sewn to a shorter one. Its folds are finer
// than the triangles, so near it the cloth counts as narrower along the edge, and heavier.
type gather struct {
	edge     string
	line     []geom.Point
	fullness float64 // length of the edge over that of the other
	along    r2.Vec  // unit vector, y up

	// Of an edge that runs down the body: where it begins and ends, as down says.
	fallsFrom, fallsTo float64
}

const (
	leastFullness = 1.1  // below, the ease is eased in
	gatherDepth   = 80.0 // mm from the seam at which gathers have opened (from memory)
	leastShare    = 0.7  // of the area that a gathered triangle takes up, by what its sides say
)

// draw gathers the edges of panels that seams join to shorter ones, or to ones that are drawn in.
func draw(panels []*panel, seams []pattern.Seam) {
	byName := map[string]*panel{}
	for _, q := range panels {
		byName[q.Name] = q
	}
	for _, s := range seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			q, other := byName[way[0].Piece], byName[way[1].Piece]
			if q == nil || other == nil || s.How == "stretched" || other.jersey() {
				continue
			}
			e, okA := q.Edge(way[0].Edge)
			f, okB := other.Edge(way[1].Edge)
			if !okA || !okB {
				continue
			}
			if q.where == sleeve && q.gatherBetween(e, other, f) {
				continue
			}
			if fullness := e.Path.Length() / f.Path.Length() * other.drawnIn(f.Name); fullness >= leastFullness {
				q.gather(e, fullness)
			}
		}
	}
}

// gather draws an edge of the panel in.
func (q *panel) gather(e pattern.Edge, fullness float64) {
	chord := e.Path.End().Sub(e.Path.Start())
	g := gather{edge: e.Name, line: e.Path.Flatten(1), fullness: fullness, along: r2.Unit(r2.Vec{X: chord.X, Y: -chord.Y})}
	if q.runsDown(e) {
		end := func(p geom.Point) float64 { return q.down(r2.Vec{X: p.X, Y: p.Y}) }
		a, b := end(e.Path.Start()), end(e.Path.End())
		g.fallsFrom, g.fallsTo = min(a, b), max(a, b)
	}
	q.gathers = append(q.gathers, g)
}

// drawnIn returns the length of an edge over that to which it is gathered, 1 if it is not.
func (q *panel) drawnIn(edge string) float64 {
	for _, g := range q.gathers {
		if g.edge == edge {
			return g.fullness
		}
	}
	return 1
}

// takenUp returns by how much a point so far down the paper hangs higher for the gathers in a
// side seam above it, mm. A belly takes up in the middle what they take up at the side.
func (q *panel) takenUp(down float64) (by float64) {
	for _, g := range q.gathers {
		by += (1 - 1/g.fullness) * max(0, min(down, g.fallsTo)-g.fallsFrom)
	}
	return by
}

// cutDown returns how far down the paper what hangs so far below its level is cut.
func (q *panel) cutDown(hung float64) float64 {
	down := hung
	for range 50 { // converges: takenUp grows by less than down does
		down = hung + q.takenUp(down)
	}
	return down
}

// gatherBetween draws an edge of a sleeve in between the notches at which it meets the other edge,
// each part by itself, and reports whether there are any: a cap is gathered over its top alone.
func (q *panel) gatherBetween(e pattern.Edge, other *panel, f pattern.Edge) bool {
	one, mates, ok := mates(q, e.Name, other, f.Name)
	if !ok || len(one) == 0 {
		return false
	}
	rest, passed, left := e.Path, 0.0, f.Path.Length()
	for i := range len(one) + 1 {
		part, upTo := rest, 0.0
		if i < len(one) {
			part, rest = rest.SplitAt(one[i].At - passed)
			passed, upTo = one[i].At, mates[i].At
		}
		if fullness := part.Length() / max(1, left-upTo); fullness >= leastFullness {
			q.gather(pattern.Edge{Path: part}, fullness)
		}
		left = upTo
	}
	return true
}

// fullness returns the width of the cloth at a point of the paper over that which it
// takes up, and the direction in which it is drawn in, y up.
func (q *panel) fullness(at r2.Vec) (fullness float64, along r2.Vec) {
	fullness = 1
	for _, g := range q.gathers {
		if f := 1 + (g.fullness-1)*g.beside(at)*max(0, 1-g.away(at)/gatherDepth); f > fullness {
			fullness, along = f, g.along
		}
	}
	return fullness, along
}

// away returns the distance of a point from the edge, mm.
func (g gather) away(at r2.Vec) float64 {
	away := math.Inf(1)
	for i := 1; i < len(g.line); i++ {
		away = min(away, toSegment(at, g.line[i-1], g.line[i]))
	}
	return away
}

// beside returns 1 for a point beside the edge and 0 for one that lies beyond an end of it, where
// the seam goes on without gathers. Between a square through the end and 30 degrees beyond that
// it fades.
func (g gather) beside(at r2.Vec) float64 {
	n := len(g.line)
	beside := 1.0
	for _, end := range [2][2]geom.Point{{g.line[1], g.line[0]}, {g.line[n-2], g.line[n-1]}} {
		out := r2.Vec{X: end[1].X - end[0].X, Y: end[1].Y - end[0].Y}
		from := r2.Vec{X: at.X - end[1].X, Y: at.Y - end[1].Y}
		if far := r2.Norm(from) * r2.Norm(out); far > 0 {
			beside = min(beside, max(0, 1-2*r2.Dot(out, from)/far))
		}
	}
	return beside
}

// toSegment returns the distance of a point from the segment between two others.
func toSegment(at r2.Vec, a, b geom.Point) float64 {
	p, d := r2.Vec{X: at.X - a.X, Y: at.Y - a.Y}, r2.Vec{X: b.X - a.X, Y: b.Y - a.Y}
	s := max(0, min(1, r2.Dot(p, d)/max(1e-9, r2.Norm2(d))))
	return r2.Norm(r2.Sub(p, r2.Scale(s, d)))
}

// gathered draws a triangle of the panel in where it is gathered: its sides have the
// lengths that they take up, so that neighbours agree on those which they share. toFlat
// turns a direction of the paper, y up, to the grain.
func (q *panel) gathered(tri *drape.Triangle, corners [3]r2.Vec, toFlat func(r2.Vec) r2.Vec) {
	if len(q.gathers) == 0 {
		return
	}
	middle := r2.Scale(1.0/3, r2.Add(corners[0], r2.Add(corners[1], corners[2])))
	var main r2.Vec
	if tri.Fullness, main = q.fullness(middle); tri.Fullness == 1 {
		return
	}
	var sides [3]r2.Vec  // first to second corner, first to third, second to third
	var taken [3]float64 // their lengths as taken up, squared
	for k := range 3 {
		i, j := [3]int{0, 0, 1}[k], [3]int{1, 2, 2}[k]
		sides[k] = r2.Sub(tri.Flat[j], tri.Flat[i])
		fullness, along := q.fullness(r2.Scale(0.5, r2.Add(corners[i], corners[j])))
		part := r2.Dot(sides[k], toFlat(along))
		taken[k] = r2.Norm2(sides[k]) - (1-1/(fullness*fullness))*part*part
	}
	// The stretch without turning, U, for which |U side|^2 is as taken: U^2 = C.
	a, b := sides[0], sides[1]
	cross := (taken[0] + taken[1] - taken[2]) / 2
	det := r2.Cross(a, b)
	x, y := r2.Vec{X: b.Y / det, Y: -a.Y / det}, r2.Vec{X: -b.X / det, Y: a.X / det} // columns of the sides' inverse
	gram := func(u, v r2.Vec) float64 {
		return taken[0]*u.X*v.X + taken[1]*u.Y*v.Y + cross*(u.X*v.Y+u.Y*v.X)
	}
	c00, c01, c11 := gram(x, x), gram(x, y), gram(y, y)
	if f, u := tri.Fullness, toFlat(main); c00*c11-c01*c01 < leastShare*leastShare/(f*f) {
		// Where gathers of different directions meet, its sides contradict each other, so the
		// fullness at its middle counts.
		less := 1 - 1/(f*f)
		c00, c01, c11 = 1-less*u.X*u.X, -less*u.X*u.Y, 1-less*u.Y*u.Y
	}
	root := math.Sqrt(max(0, c00*c11-c01*c01))
	scale := 1 / math.Sqrt(c00+c11+2*root)
	for k := 1; k < 3; k++ {
		d := sides[k-1]
		tri.Flat[k] = r2.Add(tri.Flat[0], r2.Scale(scale, r2.Vec{X: (c00+root)*d.X + c01*d.Y, Y: c01*d.X + (c11+root)*d.Y}))
	}
}
