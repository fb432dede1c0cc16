package cutting

import (
	"fmt"
	"math"
	"slices"

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
	Run     string   // to which the lines go on from their ends; "" for none
	Slant   Slant
}

// Slant says which lines of a pleat run aslant if it is not as wide at its foot as at
// the edge.
type Slant int

const (
	SlantBoth  Slant = iota // both lines by half
	SlantLaid               // only the line that is laid on the other
	SlantAlong              // both, and they go on in their own directions, as in a piece of a circle
)

// shares returns what of the difference each line takes.
func (s Pleat) shares() [2]float64 {
	switch {
	case s.Slant != SlantLaid:
		return [2]float64{0.5, 0.5}
	case s.ToStart:
		return [2]float64{0, 1}
	}
	return [2]float64{1, 0}
}

// AddPleat lays a pleat in an edge. As sewn the edge is shorter by the width. The first
// line is laid on the second one, or the second on the first if ToStart; an arrow across
// the pleat says so. A pleat is a dart whose legs do not meet, without a sewn end. If its
// lines go on to another run, they are drawn as folds and notched there. A pleat may
// touch another one, and begin at a fold on which its other half lies.
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
	if !(s.Width > 0) || !(s.Depth > 0) || !roomFor(p, i, from, s.Width) {
		return pattern.Piece{}, newError(p, at.Run, "a pleat %.1f mm wide and %.1f mm deep at %.1f mm does not fit on its "+
			"%.1f mm: it needs 1 mm on each side of it, or must touch a fold or another pleat; the part there runs from "+
			"%.1f to %.1f mm", s.Width, s.Depth, at.At, p.RunLength(at.Run), at.At-from, at.At-from+length)
	}
	if !(s.Foot > 0 && s.Foot <= 2*s.Width) {
		return pattern.Piece{}, newError(p, at.Run, "a pleat %.1f mm wide at its foot; want more than 0, at most %.1f",
			s.Foot, 2*s.Width)
	}
	e := p.Edges[i]
	before, rest := cutPleat(e.Path, from)
	mouthPath, after := cutPleat(rest, s.Width)
	a, b := mouthPath.Start(), mouthPath.End()
	d := pattern.Dart{Name: s.Name, Mouth: s.Name + "_mouth", Legs: s.legs(a, b)}
	tail, tip := d.Legs[0].At(d.Legs[0].Length()/2), d.Legs[1].At(d.Legs[1].Length()/2)
	if s.ToStart {
		d.Pressed = 1
		tail, tip = tip, tail
	}
	pins := pinsOf(p)
	first, last := e, e
	first.Path, last.Path = before, after
	mouth := newEdge(d.Mouth, pattern.RoleDartMouth, geom.Path{geom.Line(a, b)})
	q := p
	q.Edges = slices.Clone(p.Edges[:i])
	for _, k := range [...]pattern.Edge{first, mouth, last} {
		if len(k.Path) > 0 {
			q.Edges = append(q.Edges, k)
		}
	}
	q.Edges = append(q.Edges, p.Edges[i+1:]...)
	q.Darts = append(slices.Clip(p.Darts), d)
	across := pattern.Line{Name: s.Name + "_arrow", Path: arrow(tail, tip)}
	q.Lines = append(slices.Clip(p.Lines), across)
	if !q.HoldsDart(d) {
		return pattern.Piece{}, newError(p, at.Run, "the %s would reach out of the piece", s.Name)
	}
	q = repin(q, pins)
	if s.Run == "" {
		return q, nil
	}
	return foldOn(q, s, d)
}

// cutPleat cuts a path at d mm along it; a cut at an end of the path leaves nothing there.
func cutPleat(path geom.Path, d float64) (before, after geom.Path) {
	switch {
	case d < nearBreak:
		return nil, path
	case d > path.Length()-nearBreak:
		return path, nil
	}
	return path.SplitAt(d)
}

// roomFor reports whether a pleat of the width fits on an edge from a distance along it:
// 1 mm from its ends, or just to an end where a fold or another pleat follows. Some of the
// edge must stay.
func roomFor(p pattern.Piece, i int, from, width float64) bool {
	length, n := p.Edges[i].Path.Length(), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n].Role, p.Edges[(i+1)%n].Role
	meets := func(role pattern.Role) bool { return role == pattern.RoleFold || role == pattern.RoleDartMouth }
	atStart := math.Abs(from) < nearBreak && meets(before)
	atEnd := math.Abs(from+width-length) < nearBreak && meets(after)
	return (from >= 1 || atStart) && (from+width <= length-1 || atEnd) && !(atStart && atEnd)
}

// legs returns the lines of a pleat from the ends of its mouth, of one length and symmetrical
// about the mouth's middle if both run aslant.
func (s Pleat) legs(a, b geom.Point) [2]geom.Path {
	along := b.Sub(a).Unit()
	in := along.Right().Mul(s.Depth)
	shares := s.shares()
	narrower := a.Dist(b) - s.Foot
	length := math.Hypot(s.Depth, narrower*max(shares[0], shares[1]))
	foot := func(from geom.Point, aside float64) geom.Point {
		return from.Add(in.Add(along.Mul(aside)).Unit().Mul(length))
	}
	return [2]geom.Path{{geom.Line(a, foot(a, narrower*shares[0]))}, {geom.Line(b, foot(b, -narrower*shares[1]))}}
}

// foldOn draws the lines of a pleat on to the run, side by side or in their own directions,
// and notches it there. A line or a notch that a pleat beside it has too is drawn once.
func foldOn(p pattern.Piece, s Pleat, d pattern.Dart) (pattern.Piece, error) {
	if err := checkRun(p, s.Run); err != nil {
		return pattern.Piece{}, err
	}
	run := p.Run(s.Run)
	in := d.Legs[1].Start().Sub(d.Legs[0].Start()).Unit().Right()
	for i, leg := range d.Legs {
		foot, way := leg.End(), in
		if s.Slant == SlantAlong {
			way = leg.EndTangent()
		}
		met := geom.Polyline(foot, foot.Add(way.Mul(pattern.MaxReach))).Crossings(run)
		if onFold(p, foot) {
			continue // the fold is the line
		}
		if len(met) == 0 {
			return pattern.Piece{}, newError(p, s.Run, "the lines of the %s do not meet it", s.Name)
		}
		_, _, along := run.Nearest(met[0].At)
		if slices.ContainsFunc(p.Notches, func(n pattern.Notch) bool {
			return n.Edge == s.Run && math.Abs(n.At-along) < nearBreak
		}) {
			continue
		}
		p.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: fmt.Sprintf("%s_fold_%d", s.Name, i+1),
			Path: geom.Polyline(foot, met[0].At)})
		p.Notches = append(slices.Clip(p.Notches), pattern.Notch{Edge: s.Run, At: along, Kind: pattern.NotchSingle})
	}
	return p, nil
}

// onFold reports whether a point lies on a fold of the piece.
func onFold(p pattern.Piece, at geom.Point) bool {
	return slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool {
		return e.Role == pattern.RoleFold && onPath(e.Path, at)
	})
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
		if n := e.Path.Length(); from > n-nearBreak && hasPartAfter(p, i) {
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
