package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Shape of the arrow across a pleat, mm.
const (
	arrowHead = 6.0
	arrowBarb = 3.0
)

// AddPleat lays a pleat in an edge: width mm of it, from a position on, are
// folded along two parallel lines depth mm long. As sewn the edge is shorter by
// the width. The first line is laid on the second one, or the second on the
// first if toStart; an arrow across the pleat says so. A pleat is a dart whose
// legs do not meet, without a sewn end.
func AddPleat(p pattern.Piece, name string, at Position, width, depth float64, toStart bool) (pattern.Piece, error) {
	if p.Dart(name) != nil {
		return pattern.Piece{}, newError(p, "", "the piece already has a dart or pleat %q", name)
	}
	if err := checkRun(p, at.Run); err != nil {
		return pattern.Piece{}, err
	}
	i, from := partAt(p, at)
	length := p.Edges[i].Path.Length()
	if lo, hi := from, from+width; !(width > 0) || !(depth > 0) || lo < 1 || hi > length-1 {
		return pattern.Piece{}, newError(p, at.Run, "a pleat %.1f mm wide and %.1f mm deep at %.1f mm does not fit on its "+
			"%.1f mm", width, depth, at.At, p.RunLength(at.Run))
	}
	e := p.Edges[i]
	before, rest := e.Path.SplitAt(from)
	_, after := rest.SplitAt(width)
	a, b := before.End(), after.Start()
	in := b.Sub(a).Unit().Right()
	legs := [2]geom.Path{{geom.Line(a, a.Add(in.Mul(depth)))}, {geom.Line(b, b.Add(in.Mul(depth)))}}
	d := pattern.Dart{Name: name, Mouth: name + "_mouth", Legs: legs}
	tail, tip := a.Add(in.Mul(depth/2)), b.Add(in.Mul(depth/2))
	if toStart {
		d.Pressed = 1
		tail, tip = tip, tail
	}
	pins := pinsOf(p)
	first, last := e, e
	first.Path, last.Path = before, after
	mouth := newEdge(d.Mouth, pattern.RoleDartMouth, geom.Path{geom.Line(a, b)})
	q := p
	q.Edges = append(append(append([]pattern.Edge(nil), p.Edges[:i]...), first, mouth, last), p.Edges[i+1:]...)
	q.Darts = append(append([]pattern.Dart(nil), p.Darts...), d)
	q.Lines = append(append([]pattern.Line(nil), p.Lines...), pattern.Line{Name: name + "_arrow", Path: arrow(tail, tip)})
	if !q.HoldsDart(d) {
		return pattern.Piece{}, newError(p, at.Run, "the %s would reach out of the piece", name)
	}
	return repin(q, pins), nil
}

// partAt returns the index of the part of a run at which a position lies, and
// the distance along that part.
func partAt(p pattern.Piece, at Position) (index int, from float64) {
	from = at.At
	for i, e := range p.Edges {
		if e.Name != at.Run {
			continue
		}
		index = i
		if n := e.Path.Length(); from > n && hasPartAfter(p, i) {
			from -= n
			continue
		}
		break
	}
	return index, from
}

// hasPartAfter reports whether the run of edge i goes on after it.
func hasPartAfter(p pattern.Piece, i int) bool {
	for _, e := range p.Edges[i+1:] {
		if e.Name == p.Edges[i].Name {
			return true
		}
	}
	return false
}

// arrow returns the line from tail to tip with a head at its tip.
func arrow(tail, tip geom.Point) geom.Path {
	along := tip.Sub(tail)
	size := math.Min(1, along.Norm()/(2*arrowHead))
	u := along.Unit().Mul(arrowHead * size)
	side := along.Unit().Right().Mul(arrowBarb * size)
	back := tip.Sub(u)
	return geom.Polyline(tail, tip, back.Add(side), back.Sub(side), tip)
}
