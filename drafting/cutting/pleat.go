package cutting

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Shape of the arrow across a pleat, mm.
const (
	arrowHead = 6.0
	arrowBarb = 3.0
)

// A Pleat is cloth folded away at an edge along two lines.
type Pleat struct {
	Name    string
	At      Position // of the first line
	Width   float64  // mm of the edge
	Depth   float64  // length of the lines, mm
	Foot    float64  // mm between the ends of the lines
	ToStart bool     // the second line is laid on the first
	Run     string   // to which the lines go on from their ends, side by side; "" for none
}

// AddPleat lays a pleat in an edge. As sewn the edge is shorter by the width. The first
// line is laid on the second one, or the second on the first if ToStart; an arrow across
// the pleat says so. A pleat is a dart whose legs do not meet, without a sewn end. If its
// lines go on to another run, they are drawn as folds and notched there.
func AddPleat(p pattern.Piece, s Pleat) (pattern.Piece, error) {
	if p.Dart(s.Name) != nil {
		return pattern.Piece{}, newError(p, "", "the piece already has a dart or pleat %q", s.Name)
	}
	at := s.At
	if err := checkRun(p, at.Run); err != nil {
		return pattern.Piece{}, err
	}
	i, from := partAt(p, at)
	length := p.Edges[i].Path.Length()
	if lo, hi := from, from+s.Width; !(s.Width > 0) || !(s.Depth > 0) || lo < 1 || hi > length-1 {
		return pattern.Piece{}, newError(p, at.Run, "a pleat %.1f mm wide and %.1f mm deep at %.1f mm does not fit on its "+
			"%.1f mm: it needs 1 mm on each side of it, and the part there runs from %.1f to %.1f mm", s.Width, s.Depth,
			at.At, p.RunLength(at.Run), at.At-from, at.At-from+length)
	}
	if !(s.Foot > 0 && s.Foot <= 2*s.Width) {
		return pattern.Piece{}, newError(p, at.Run, "a pleat %.1f mm wide at its foot; want more than 0, at most %.1f",
			s.Foot, 2*s.Width)
	}
	e := p.Edges[i]
	before, rest := e.Path.SplitAt(from)
	_, after := rest.SplitAt(s.Width)
	a, b := before.End(), after.Start()
	along := b.Sub(a).Unit()
	in := along.Right().Mul(s.Depth)
	aside := along.Mul((a.Dist(b) - s.Foot) / 2)
	feet := [2]geom.Point{a.Add(in).Add(aside), b.Add(in).Sub(aside)}
	d := pattern.Dart{Name: s.Name, Mouth: s.Name + "_mouth",
		Legs: [2]geom.Path{{geom.Line(a, feet[0])}, {geom.Line(b, feet[1])}}}
	tail, tip := a.Lerp(feet[0], 0.5), b.Lerp(feet[1], 0.5)
	if s.ToStart {
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
	across := pattern.Line{Name: s.Name + "_arrow", Path: arrow(tail, tip)}
	q.Lines = append(append([]pattern.Line(nil), p.Lines...), across)
	if !q.HoldsDart(d) {
		return pattern.Piece{}, newError(p, at.Run, "the %s would reach out of the piece", s.Name)
	}
	q = repin(q, pins)
	if s.Run == "" {
		return q, nil
	}
	return foldOn(q, s, feet, in.Unit())
}

// foldOn draws the lines of a pleat from its feet on to the run, and notches it there.
func foldOn(p pattern.Piece, s Pleat, feet [2]geom.Point, in geom.Point) (pattern.Piece, error) {
	if err := checkRun(p, s.Run); err != nil {
		return pattern.Piece{}, err
	}
	run := p.Run(s.Run)
	for i, foot := range feet {
		met := geom.Polyline(foot, foot.Add(in.Mul(pattern.MaxReach))).Crossings(run)
		if len(met) == 0 {
			return pattern.Piece{}, newError(p, s.Run, "the lines of the %s do not meet it", s.Name)
		}
		_, _, along := run.Nearest(met[0].At)
		p.Lines = append(p.Lines, pattern.Line{Name: fmt.Sprintf("%s_fold_%d", s.Name, i+1),
			Path: geom.Polyline(foot, met[0].At)})
		p.Notches = append(p.Notches, pattern.Notch{Edge: s.Run, At: along, Kind: pattern.NotchSingle})
	}
	return p, nil
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
