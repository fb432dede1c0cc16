package sheets

import (
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
	"tapeline/drafting/pattern"
)

// moveLabels moves texts that the edge of a page would cut to the nearest position
// in their piece where one page shows all of them and no line is near. Texts below
// each other move together if possible, otherwise one by one; the name of a line
// stays beside the line. A text without room stays, and each of its pages shows a
// part of it.
func (k *ink) moveLabels(pieces []finish.Piece) {
	for i := range pieces {
		for _, group := range columns(pieces[i].Texts) {
			if k.wholeAll(group) {
				k.SetBox(boundsOf(group))
			}
		}
	}
	for i := range pieces {
		p := &pieces[i]
		var inside *grid.Grid
		for _, group := range columns(p.Texts) {
			if k.wholeAll(group) {
				continue
			}
			if inside == nil {
				inside = k.inside(p)
			}
			k.moveGroup(group, p, inside)
		}
		p.Texts = slices.DeleteFunc(p.Texts, func(l finish.Text) bool { return len(l.Lines) == 0 })
	}
}

// moveGroup moves texts below each other that the edge of a page would cut.
func (k *ink) moveGroup(group []finish.Text, p *finish.Piece, inside *grid.Grid) {
	if group[0].Fixed {
		k.moveName(group, inside, p.Bounds())
		return
	}
	if stroke, ok := named(p, group); ok {
		k.slide(&group[0], stroke, p)
		if k.wholeAll(group) || isLine(p, stroke) || !k.moveTogether(group, inside, p.Bounds(), slideReach) {
			k.SetBox(boundsOf(group))
		}
		return
	}
	if k.moveTogether(group, inside, p.Bounds(), math.Inf(1)) {
		return
	}
	for j := range group {
		one := group[j : j+1]
		if !k.wholeAll(one) && !k.moveTogether(one, inside, p.Bounds(), math.Inf(1)) {
			k.SetBox(boundsOf(one))
		}
	}
}

// wholeAll reports whether, for each of the texts, one page shows all of it.
func (k *ink) wholeAll(labels []finish.Text) bool {
	for i := range labels {
		if !k.whole(boundsOf(labels[i : i+1])) {
			return false
		}
	}
	return true
}

// columns splits texts into groups that stand below each other.
func columns(labels []finish.Text) [][]finish.Text {
	var groups [][]finish.Text
	for start, i := 0, 1; i <= len(labels); i++ {
		if i < len(labels) && labels[i].Angle == labels[i-1].Angle &&
			labels[i].At.Near(labels[i-1].Corners()[3], 0.01) {
			continue
		}
		groups = append(groups, labels[start:i])
		start = i
	}
	return groups
}

// boundsOf returns the upright box around texts.
func boundsOf(labels []finish.Text) geom.Box {
	b := geom.EmptyBox()
	for _, l := range labels {
		for _, c := range l.Corners() {
			b = b.With(c)
		}
	}
	return b
}

// inside returns the cells within a piece's seam line.
func (k *ink) inside(p *finish.Piece) *grid.Grid {
	r := grid.New(k.Origin, k.Cell, k.W, k.H)
	r.Inside(p.Outline().Flatten(geom.PackTol))
	return r
}

// How far a text may be moved that names what it stands beside, mm: a mark or a
// notch, and of a fold beside which there is no room.
const (
	nameReach  = 15.0
	slideReach = 60.0
)

// moveName moves the name of a mark or notch a little. A width between seam and
// cut line is taken away instead: other edges bear the same.
func (k *ink) moveName(name []finish.Text, inside *grid.Grid, piece geom.Box) {
	box := boundsOf(name)
	if x, y, _, _ := k.Cells(geom.BoxOf(box.Centre())); !inside.Has(x, y) {
		for i := range name {
			name[i].Lines = nil
		}
		return
	}
	if !k.moveTogether(name, inside, piece, nameReach) {
		k.SetBox(box)
	}
}

// moveTogether shifts texts by whole cells to the nearest free position, at most
// reach mm away, and reports whether there is one.
func (k *ink) moveTogether(labels []finish.Text, inside *grid.Grid, piece geom.Box, reach float64) bool {
	box := boundsOf(labels)
	// the shifts that keep the box within the piece's
	x0, x1 := math.Ceil((piece.Min.X-box.Min.X)/inkUnit), math.Floor((piece.Max.X-box.Max.X)/inkUnit)
	y0, y1 := math.Ceil((piece.Min.Y-box.Min.Y)/inkUnit), math.Floor((piece.Max.Y-box.Max.Y)/inkUnit)
	shifts := geom.Box{Min: geom.Pt(x0, y0), Max: geom.Pt(x1, y1)}
	best, found := nearest(shifts, reach/inkUnit, func(shift geom.Point) bool {
		b := box.Move(shift.Mul(inkUnit))
		cx, cy, _, _ := k.Cells(b)
		return inside.Has(cx, cy) && k.whole(b) && k.clear(b)
	})
	if !found {
		return false
	}
	best = best.Mul(inkUnit)
	for i := range labels {
		labels[i].At = labels[i].At.Add(best)
	}
	k.SetBox(box.Move(best))
	return true
}

// nearest returns the shift of whole steps nearest to none that ok accepts, within
// limits and at most reach long, the upper left one of several. It asks from near to
// far, a row above and below at a time.
func nearest(limits geom.Box, reach float64, ok func(shift geom.Point) bool) (best geom.Point, found bool) {
	least := reach*reach + 1e-9
	last := max(-limits.Min.Y, limits.Max.Y)
	for dy := 0.0; dy <= last && dy*dy <= least; dy++ {
		for _, y := range [...]float64{-dy, dy} {
			if y < limits.Min.Y || y > limits.Max.Y {
				continue
			}
			widest := max(-limits.Min.X, limits.Max.X)
			for dx := 0.0; dx <= widest; dx++ {
				// Of two equally far the upper one counts.
				if d := dx*dx + dy*dy; d > least || found && d == least && y > best.Y {
					break
				}
				if x, free := sideways(limits, dx, y, ok); free {
					best, least, found = geom.Pt(x, y), dx*dx+dy*dy, true
					break
				}
			}
		}
	}
	return best, found
}

// sideways returns the first of the shifts by dx to the left and to the right that is
// within limits and that ok accepts.
func sideways(limits geom.Box, dx, y float64, ok func(shift geom.Point) bool) (x float64, found bool) {
	for _, x := range [...]float64{-dx, dx} {
		if x >= limits.Min.X && x <= limits.Max.X && ok(geom.Pt(x, y)) {
			return x, true
		}
	}
	return 0, false
}

// named returns the straight stroke that a text names: it is a single line beside
// the stroke.
func named(p *finish.Piece, group []finish.Text) (geom.Segment, bool) {
	if len(group) != 1 || len(group[0].Lines) != 1 {
		return geom.Segment{}, false
	}
	l := &group[0]
	middle, reading := boundsOf(group).Centre(), geom.Polar(1, l.Angle)
	beside := func(s geom.Segment) bool {
		u := s.Tangent(0)
		return s.Straight && math.Abs(u.Cross(reading)) < 0.05 &&
			math.Abs(middle.Sub(s.P0).Cross(u)) < l.Height()
	}
	if beside(p.Grain) {
		return p.Grain, true
	}
	var found geom.Segment
	inPiece(p, func(path geom.Path) {
		if i := slices.IndexFunc(path, beside); i >= 0 {
			found = path[i]
		}
	})
	return found, found.Straight
}

// isLine reports whether a stroke is a line inside the piece, such as that of the
// waist.
func isLine(p *finish.Piece, stroke geom.Segment) bool {
	return slices.ContainsFunc(p.Lines, func(l pattern.Line) bool { return slices.Contains(l.Path, stroke) })
}

// inPiece calls f with every line drawn on a piece except its grain and notches.
func inPiece(p *finish.Piece, f func(geom.Path)) {
	f(p.CutLine)
	for _, e := range p.Edges {
		f(e.Path)
	}
	for _, d := range p.Darts {
		f(d.Legs[0])
		f(d.Legs[1])
	}
	for _, l := range p.Lines {
		f(l.Path)
	}
	for _, b := range p.Brackets {
		f(b)
	}
	for _, l := range p.Lengthen {
		f(l)
	}
}

// slide shifts a text along its line to the nearest position where one page shows
// all of it and it meets nothing.
func (k *ink) slide(l *finish.Text, stroke geom.Segment, p *finish.Piece) {
	const step = 2.0 // mm
	along := stroke.Tangent(0)
	was := l.At
	for i := 1; float64(i)*step < stroke.Length(); i++ {
		for _, sign := range [...]float64{1, -1} {
			l.At = was.Add(along.Mul(sign * step * float64(i)))
			middle := boundsOf([]finish.Text{*l}).Centre()
			if d := middle.Sub(stroke.P0).Dot(along); d < 0 || d > stroke.Length() {
				continue
			}
			if k.wholeAll([]finish.Text{*l}) && alone(l, p) {
				return
			}
		}
	}
	l.At = was
}

// alone reports whether nothing else of its piece is drawn in the box of a text.
func alone(l *finish.Text, p *finish.Piece) bool {
	box := boundsOf([]finish.Text{*l})
	ok := !p.Grain.Bounds().Overlaps(box)
	inPiece(p, func(path geom.Path) {
		for _, s := range path {
			ok = ok && len(s.AppendClipped(nil, box)) == 0
		}
	})
	for _, m := range p.Marks {
		ok = ok && !geom.BoxOf(m.At).Grow(markClear(m)).Overlaps(box)
	}
	for i := range p.Texts {
		other := &p.Texts[i]
		ok = ok && (other == l || !boundsOf(p.Texts[i:i+1]).Overlaps(box))
	}
	return ok
}
