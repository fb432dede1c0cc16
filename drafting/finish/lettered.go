package finish

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Lettered returns the pattern with fold brackets, arrow heads and texts on every
// piece; a lettered pattern as it is. The texts differ with the label, and so
// they are set when a file is rendered, not when the pattern is drafted.
func (p Pattern) Lettered() Pattern {
	if p.lettered {
		return p
	}
	p.Pieces = slices.Clone(p.Pieces)
	for i := range p.Pieces {
		q := &p.Pieces[i]
		q.letter(textOf(q.Piece, p.Style, p.Label, i+1, len(p.Pieces)), p.Label.OrderUnit)
	}
	p.lettered = true
	return p
}

// takesTitle reports whether there is room on the piece to say which one it is.
func (q *Piece) takesTitle() bool {
	outline := q.Outline().Flatten(geom.PlaceTol)
	title, middle, bounds := titleOf(q.Piece), centroid(outline), geom.BoxOf(outline...)
	// Nearly every piece has a free box about its middle that holds the title and
	// two cells of a room more: then a room has place for it, and is not needed.
	t := text{title: title}.set(letterShapes[0].ems, letterShapes[0].runOn)
	half := geom.Pt(t.width+2*letterMargin, t.height+2*letterMargin).Mul(leastLetters / 2)
	cell := geom.Pt(max(2*minCell, bounds.Width()/maxColumns), max(2*minCell, bounds.Height()/maxRows))
	if isClear(outline, geom.Box{Min: middle.Sub(half).Sub(cell), Max: middle.Add(half).Add(cell)}) {
		return true
	}
	return letterTitle(title, newRoom(outline), middle)
}

// isClear reports whether a box lies within a closed outline and clear of it.
func isClear(outline []geom.Point, b geom.Box) bool {
	middle, within := b.Centre(), false
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		if geom.BoxOf(p, q).Overlaps(b) && len(geom.Line(p, q).ClipToBox(b)) > 0 {
			return false
		}
		if (p.Y <= middle.Y) != (q.Y <= middle.Y) && p.X+(middle.Y-p.Y)/(q.Y-p.Y)*(q.X-p.X) > middle.X {
			within = !within
		}
	}
	return within
}

// letter draws the piece's fold brackets and arrow heads and letters it.
func (q *Piece) letter(t text, unit string) {
	outline := q.Outline().Flatten(geom.PlaceTol)
	if len(outline) == 0 {
		return // no piece of Finish
	}
	r := q.room(outline)
	q.markFolds(r)
	q.markGrain(r)
	q.Lengthen = q.lengthenLines(outline)
	for _, l := range q.Lengthen {
		r.bar(l.Flatten(geom.PlaceTol), obstacleLine)
	}
	q.add(letter(t, r, centroid(outline)), r)
	q.nameMarks(r)
	q.nameNotches(r)
	// The words along the lines take what room is left.
	for i, fold := range q.Folds() {
		b := q.Brackets[i]
		in := b[0].Tangent(0)
		q.add(alongside(q.foldText(fold), b[1], [2]geom.Point{in.Neg(), in}, r), r)
	}
	q.nameCentres(r)
	if g := q.Grain; g.P0 != g.P3 {
		u := g.Tangent(0)
		q.add(alongside("GRAIN", g, [2]geom.Point{u.Left(), u.Right()}, r), r)
	}
	q.nameLines(r)
	q.letterAllowances(unit, outline)
}

// room is the room inside the outline that darts, lines and marks leave.
func (q *Piece) room(outline []geom.Point) *room {
	r := newRoom(outline)
	for _, d := range q.Darts {
		barDart(r, d)
	}
	for _, l := range q.Lines {
		kind := obstacleLine
		switch {
		case isFold(l):
			kind = obstacleFold
		case IsButtonhole(l):
			r.barBox(l.Path.Bounds().Grow(holeBar / 2))
		}
		r.bar(l.Path.Flatten(geom.PlaceTol), kind)
	}
	for _, m := range q.Marks {
		r.barBox(geom.BoxOf(m.At).Grow(drillInset))
	}
	for _, hole := range q.Drills {
		r.barBox(geom.BoxOf(hole).Grow(drillInset))
	}
	return r
}

// markFolds draws a bracket along every fold.
func (q *Piece) markFolds(r *room) {
	for _, fold := range q.Folds() {
		out := fold.Tangent(0).Left()
		b := bracket(fold, r)
		q.Brackets = append(q.Brackets, b)
		q.Arrows = append(q.Arrows, arrow(b.Start(), out), arrow(b.End(), out))
		r.bar(b.Flatten(geom.PlaceTol), obstacleMark)
	}
}

// markGrain puts heads on the grain line.
func (q *Piece) markGrain(r *room) {
	g := q.Grain
	if g.P0 == g.P3 {
		return
	}
	u := g.Tangent(0)
	q.Arrows = append(q.Arrows, arrow(g.P0, u.Neg()), arrow(g.P3, u))
	r.bar([]geom.Point{g.P0, g.P3}, obstacleMark)
	for _, end := range [...]geom.Point{g.P0, g.P3} {
		r.barBox(geom.BoxOf(end).Grow(arrowWidth / 2))
	}
}

// add letters labels and keeps others off them.
func (q *Piece) add(labels []Text, r *room) {
	for _, l := range labels {
		c := l.Corners()
		r.bar([]geom.Point{c[0], c[1], c[2], c[3], c[0]}, obstacleMark)
	}
	q.Texts = append(q.Texts, labels...)
}

// barDart bars a dart's legs and the cloth between them.
func barDart(r *room, d pattern.Dart) {
	for _, leg := range d.Legs {
		r.bar(leg.Flatten(geom.PlaceTol), obstacleDart)
	}
	for i := range min(len(d.Legs[0]), len(d.Legs[1])) {
		const steps = 16
		for k := range steps + 1 {
			t := float64(k) / steps
			r.bar([]geom.Point{d.Legs[0][i].At(t), d.Legs[1][i].At(t)}, obstacleDart)
		}
	}
}

// centroid is the middle of gravity of the figure with the given corners.
func centroid(points []geom.Point) geom.Point {
	var sum geom.Point
	var area float64
	o := points[0]
	for i := range points {
		a, b := points[i].Sub(o), points[(i+1)%len(points)].Sub(o)
		c := a.Cross(b)
		area += c
		sum = sum.Add(a.Add(b).Mul(c))
	}
	return o.Add(sum.Mul(1 / (3 * area)))
}
