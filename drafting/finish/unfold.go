package finish

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// mirrored prefixes the names of what opening a fold adds to a piece.
const mirrored = "mirrored_"

// Unfold returns the piece opened out about its folds, as it comes off the
// cloth: the mirrored half is joined to the drawn one; the folds, their
// brackets and their lettering are gone. A piece without a fold is returned
// unchanged. The error says that the piece can't be laid flat, because its
// folds neither cross at right angles nor lie in one line with an edge between
// them.
func (p Piece) Unfold() (Piece, error) {
	q := p
	for range 2 { // a piece in quarters is opened twice
		if f := q.Folds(); len(f) > 0 {
			q = q.open(f[0])
		}
	}
	if q.HasFold() {
		return Piece{}, fmt.Errorf("piece %s can't be opened out flat: "+
			"its folds must cross at right angles or lie in one line", p.Name)
	}
	if p.HasFold() {
		q.Cut.OnFold = false
		q.Brackets = nil
		q.Arrows = slices.DeleteFunc(slices.Clone(p.Arrows), func(a geom.Path) bool {
			tip := a.Start()
			return !tip.Near(p.Grain.P0, pattern.FoldTol) && !tip.Near(p.Grain.P3, pattern.FoldTol)
		})
		q.Texts = unfoldLabels(p.Texts, p.Cut.String(), q.Cut.String())
	}
	return q, nil
}

// unfoldLabels rewrites the cutting instruction for the opened piece and drops
// the word along the fold.
func unfoldLabels(labels []Text, folded, opened string) []Text {
	var kept []Text
	for _, l := range labels {
		if len(l.Lines) == 1 && l.Lines[0] == foldWord {
			continue
		}
		if len(l.Lines) == 1 {
			l.Lines = []string{strings.TrimSuffix(l.Lines[0], foldEnding)}
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
	q.Lengthen = nil
	for _, l := range p.Lengthen {
		q.Lengthen = append(q.Lengthen, l, l.Move(m))
	}
	for _, t := range p.Ticks {
		q.Ticks = append(slices.Clip(q.Ticks), Tick{t.Notch + len(p.Notches), t.Stroke.Move(m)})
	}
	image := cutting.WithPrefix(p.Piece.Move(m), mirrored)
	q.Notches, q.Darts = slices.Concat(p.Notches, image.Notches), slices.Concat(p.Darts, image.Darts)
	for _, k := range image.Marks {
		if axis.off(k.At) > pattern.FoldTol {
			q.Marks = append(slices.Clip(q.Marks), k)
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

// off returns the distance of q from the line, mm.
func (l line) off(q geom.Point) float64 {
	d := l.along.Unit().Cross(q.Sub(l.at))
	return max(d, -d)
}

// holds reports whether a segment lies on the line.
func (l line) holds(s geom.Segment) bool {
	return l.off(s.P0) <= pattern.FoldTol && l.off(s.P1) <= pattern.FoldTol && l.off(s.P2) <= pattern.FoldTol &&
		l.off(s.P3) <= pattern.FoldTol
}

// onto returns the point of the line nearest to q.
func (l line) onto(q geom.Point) geom.Point {
	u := l.along.Unit()
	return l.at.Add(u.Mul(u.Dot(q.Sub(l.at))))
}

// onFold reports whether edge k lies on the fold along the axis.
func (p Piece) onFold(k int, axis line) bool {
	e := p.Edges[k]
	return e.Role == pattern.RoleFold && axis.off(e.Path.Start()) <= pattern.FoldTol &&
		axis.off(e.Path.End()) <= pattern.FoldTol
}

// afterFold returns the index of the first edge after the fold along the axis.
func (p Piece) afterFold(axis line) int {
	n := len(p.Edges)
	for k := range p.Edges {
		if p.onFold(k, axis) && !p.onFold((k+1)%n, axis) {
			return (k + 1) % n
		}
	}
	return 0
}

// openLine replaces the run of a closed line along the axis with the mirror
// image of the rest.
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
	half = half.MoveStart(axis.onto(half.Start())).MoveEnd(axis.onto(half.End()))
	return geom.Join(half, half.Move(m).Reverse()).MergeClosedLines()
}

// openInner continues a line inside the piece over the fold if it meets it, and
// otherwise returns the line and its mirror image. A line along the fold is
// unchanged.
func openInner(l pattern.Line, axis line, m geom.Motion) []pattern.Line {
	if len(l.Path) == 0 || !slices.ContainsFunc(l.Path, func(s geom.Segment) bool { return !axis.holds(s) }) {
		return []pattern.Line{l}
	}
	image := l.Path.Move(m).Reverse()
	switch {
	case axis.off(l.Path.End()) <= pattern.FoldTol:
		l.Path = geom.Join(l.Path.MoveEnd(image.Start()), image).MergeLines()
	case axis.off(l.Path.Start()) <= pattern.FoldTol:
		l.Path = geom.Join(image.MoveEnd(l.Path.Start()), l.Path).MergeLines()
	default:
		return []pattern.Line{l, {Name: mirrored + l.Name, Path: image}}
	}
	return []pattern.Line{l}
}
