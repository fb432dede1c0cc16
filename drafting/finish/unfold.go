package finish

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// mirrored stands before the names of what opening a fold adds to a piece.
const mirrored = "mirrored_"

// Unfold is the piece opened out about its folds, as it comes off the cloth:
// the mirrored half is joined to the drawn one, the folds and their brackets
// are gone, and what the labels say of them. A piece without a fold is itself.
// The error says that the piece cannot be laid flat, because its folds do not
// cross at right angles or lie in one line with an edge between them.
func (p Piece) Unfold() (Piece, error) {
	q := p
	for range 2 { // a piece in quarters is opened twice
		if f := folds(q.Edges); len(f) > 0 {
			q = q.open(f[0])
		}
	}
	if len(folds(q.Edges)) > 0 {
		return Piece{}, fmt.Errorf("piece %s cannot be opened out flat about its folds", p.Name)
	}
	if len(folds(p.Edges)) > 0 {
		q.Cut.OnFold = false
		q.Brackets = nil
		q.Arrows = slices.DeleteFunc(slices.Clone(p.Arrows), func(a geom.Path) bool {
			tip := a.Start()
			return !tip.Near(p.Grain.P0, pattern.FoldTol) && !tip.Near(p.Grain.P3, pattern.FoldTol)
		})
		q.Texts = unfoldLabels(p.Texts, cutInstruction(p.Cut), cutInstruction(q.Cut))
	}
	return q, nil
}

// unfoldLabels says how the opened piece is cut, and no longer where the fold is.
func unfoldLabels(labels []Text, folded, opened string) []Text {
	var kept []Text
	for _, l := range labels {
		if len(l.Lines) == 1 && l.Lines[0] == foldWord {
			continue
		}
		lines := make([]string, len(l.Lines))
		for i, s := range l.Lines {
			lines[i] = strings.Replace(s, folded, opened, 1)
		}
		l.Lines = lines
		kept = append(kept, l)
	}
	return kept
}

// open joins the piece's mirror image to it along a fold.
func (p Piece) open(fold geom.Segment) Piece {
	axis := line{fold.P0, fold.P3.Sub(fold.P0)}
	m := geom.Reflect(axis.at, axis.along)
	q := p
	q.Edges, q.Allowances = nil, nil
	first := p.afterFold(axis)
	for i := range p.Edges {
		k := (first + i) % len(p.Edges)
		if !p.onFold(k, axis) {
			q.Edges, q.Allowances = append(q.Edges, p.Edges[k]), append(q.Allowances, p.Allowances[k])
		}
	}
	for i := len(q.Edges) - 1; i >= 0; i-- { // the mirrored half is walked back to the fold
		e := q.Edges[i]
		e.Name, e.Run, e.Path = mirrored+e.Name, mirrored+e.Run, e.Path.Move(m).Reverse()
		q.Edges, q.Allowances = append(q.Edges, e), append(q.Allowances, q.Allowances[i])
	}
	q.CutLine = openLine(p.CutLine, axis, m)

	q.Notches = slices.Clone(p.Notches)
	for _, n := range p.Notches {
		if e, ok := p.Edge(n.Edge); ok {
			q.Notches = append(q.Notches, pattern.Notch{Edge: mirrored + n.Edge, At: e.Path.Length() - n.At, Kind: n.Kind})
		}
	}
	q.Ticks = slices.Clone(p.Ticks)
	for _, t := range p.Ticks {
		q.Ticks = append(q.Ticks, Tick{t.Notch + len(p.Notches), t.Stroke.Move(m)})
	}
	q.Darts = slices.Clone(p.Darts)
	for _, d := range p.Darts {
		if d.Name = mirrored + d.Name; d.Mouth != "" {
			d.Mouth = mirrored + d.Mouth
		}
		// The mirrored mouth is walked the other way; left has become right.
		d.Legs[0], d.Legs[1], d.Pressed = d.Legs[1].Move(m), d.Legs[0].Move(m), 1-d.Pressed
		apexes := make([]geom.Point, len(d.Apexes))
		for i, a := range d.Apexes {
			apexes[i] = m.Apply(a)
		}
		d.Apexes = apexes
		q.Darts = append(q.Darts, d)
	}
	q.Marks = slices.Clone(p.Marks)
	for _, k := range p.Marks {
		if k.At = m.Apply(k.At); axis.off(k.At) > pattern.FoldTol {
			q.Marks = append(q.Marks, pattern.Mark{Name: mirrored + k.Name, Kind: k.Kind, At: k.At})
		}
	}
	q.Drills = slices.Clone(p.Drills)
	for _, d := range p.Drills {
		if axis.off(d) > pattern.FoldTol {
			q.Drills = append(q.Drills, m.Apply(d))
		}
	}
	q.Lines = nil
	for _, l := range p.Lines {
		q.Lines = append(q.Lines, openInner(l, axis, m)...)
	}
	return q
}

// off is how far q lies from the line, mm.
func (l line) off(q geom.Point) float64 {
	d := l.along.Unit().Cross(q.Sub(l.at))
	return max(d, -d)
}

// holds reports whether a segment lies on the line.
func (l line) holds(s geom.Segment) bool {
	return l.off(s.P0) <= pattern.FoldTol && l.off(s.P1) <= pattern.FoldTol && l.off(s.P2) <= pattern.FoldTol && l.off(s.P3) <= pattern.FoldTol
}

// onto is the point of the line nearest to q.
func (l line) onto(q geom.Point) geom.Point {
	u := l.along.Unit()
	return l.at.Add(u.Mul(u.Dot(q.Sub(l.at))))
}

// onFold reports whether edge k lies on the fold along the axis.
func (p Piece) onFold(k int, axis line) bool {
	e := p.Edges[k]
	return e.Role == pattern.RoleFold && axis.off(e.Path.Start()) <= pattern.FoldTol && axis.off(e.Path.End()) <= pattern.FoldTol
}

// afterFold is the first edge after the fold along the axis.
func (p Piece) afterFold(axis line) int {
	n := len(p.Edges)
	for k := range p.Edges {
		if p.onFold(k, axis) && !p.onFold((k+1)%n, axis) {
			return (k + 1) % n
		}
	}
	return 0
}

// openLine is a closed line without its run along the axis, its mirror image
// in place of that.
func openLine(closed geom.Path, axis line, m geom.Motion) geom.Path {
	n := len(closed)
	first := slices.IndexFunc(closed, axis.holds)
	if first < 0 {
		return closed
	}
	for axis.holds(closed[first%n]) && first < 2*n {
		first++
	}
	var half geom.Path
	for i := range n {
		if s := closed[(first+i)%n]; !axis.holds(s) {
			half = append(half, s)
		}
	}
	if len(half) == 0 {
		return closed
	}
	half[0] = startAt(half[0], axis.onto(half[0].P0))
	last := len(half) - 1
	half[last] = startAt(half[last].Reverse(), axis.onto(half[last].P3)).Reverse()
	return joinStraight(half, half.Move(m).Reverse())
}

// startAt is the segment with its start moved by a hair.
func startAt(s geom.Segment, p geom.Point) geom.Segment {
	if s.Straight {
		return geom.Line(p, s.P3)
	}
	s.P0 = p
	return s
}

// joinStraight joins two halves of a closed line; where a straight segment
// carries straight on over a join, it becomes one.
func joinStraight(a, b geom.Path) geom.Path {
	one := func(s, t geom.Segment) bool {
		return s.Straight && t.Straight && s.Tangent(1).Near(t.Tangent(0), 1e-6)
	}
	path := slices.Clone(a)
	if one(path[len(path)-1], b[0]) {
		path[len(path)-1] = geom.Line(path[len(path)-1].P0, b[0].P3)
		b = b[1:]
	}
	path = append(path, b...)
	if last := len(path) - 1; last > 0 && one(path[last], path[0]) {
		path[0] = geom.Line(path[last].P0, path[0].P3)
		path = path[:last]
	}
	return path
}

// openInner is an internal line carried on over the fold where it meets it,
// else the line and its mirror image; one along the fold stays as it is.
func openInner(l pattern.Line, axis line, m geom.Motion) []pattern.Line {
	if len(l.Path) == 0 || !slices.ContainsFunc(l.Path, func(s geom.Segment) bool { return !axis.holds(s) }) {
		return []pattern.Line{l}
	}
	image := l.Path.Move(m).Reverse()
	switch {
	case axis.off(l.Path.End()) <= pattern.FoldTol:
		l.Path = joinOpen(l.Path, image)
	case axis.off(l.Path.Start()) <= pattern.FoldTol:
		l.Path = joinOpen(image, l.Path)
	default:
		return []pattern.Line{l, {Name: mirrored + l.Name, Path: image}}
	}
	return []pattern.Line{l}
}

// joinOpen is one open line after another, the end of the first moved by the
// hair that it is away from the second.
func joinOpen(a, b geom.Path) geom.Path {
	a = slices.Clone(a)
	last := len(a) - 1
	a[last] = startAt(a[last].Reverse(), b.Start()).Reverse()
	if s := a[last]; s.Straight && b[0].Straight && s.Tangent(1).Near(b[0].Tangent(0), 1e-6) {
		a[last], b = geom.Line(s.P0, b[0].P3), b[1:]
	}
	return append(a, b...)
}
