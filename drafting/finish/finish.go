package finish

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Finish makes a pattern ready to cut: it trues the dart mouths, draws the cut
// line by the rules, and marks and letters every piece. It changes nothing in
// p but the mouths, in a copy.
//
// Rules that name nothing in the pattern or are out of range give a
// fault.List. Any other error means that a piece cannot be finished: its
// outline is broken, or an allowance is too wide for its shape.
func Finish(p pattern.Pattern, r Rules, info Info) (Pattern, error) {
	if faults := r.check(p); len(faults) > 0 {
		return Pattern{}, faults
	}
	out := Pattern{
		Info:         info,
		Pieces:       make([]Piece, 0, len(p.Pieces)),
		Seams:        p.Seams,
		Checks:       p.Checks,
		Warnings:     slices.Clone(p.Warnings),
		Instructions: p.Instructions,
	}
	r.style = p.Allowances
	var errs []error
	for i, piece := range p.Pieces {
		if broken := piece.ValidateOutline(); len(broken) > 0 {
			for _, v := range broken {
				errs = append(errs, v)
			}
			continue
		}
		q, err := finishPiece(piece, r)
		if err != nil {
			errs = append(errs, fmt.Errorf("piece %s: %w", piece.Name, err))
			continue
		}
		if !q.letter(textOf(piece, info, i+1, len(p.Pieces))) {
			out.Warnings = append(out.Warnings, fmt.Sprintf("%s is too small to be lettered: mark it by hand", piece.Name))
		}
		out.Pieces = append(out.Pieces, q)
	}
	if err := errors.Join(errs...); err != nil {
		return Pattern{}, err
	}
	return out, nil
}

// finishPiece is the piece with everything but its lettering.
func finishPiece(p pattern.Piece, r Rules) (Piece, error) {
	mouths, err := mouthsOf(p)
	if err != nil {
		return Piece{}, err
	}
	if p, err = trueMouths(p, mouths); err != nil {
		return Piece{}, err
	}
	q := Piece{Piece: p, Allowances: r.allowances(p, mouths)}
	if q.CutLine, err = cutLine(p.Edges, q.Allowances); err != nil {
		return Piece{}, err
	}
	if err := checkCutLine(p, q.CutLine); err != nil {
		return Piece{}, err
	}
	q.Notches = legNotches(p, mouths)
	q.Ticks = q.ticks(mouths)
	q.Drills = append(drills(p.Darts), drilled(p)...)
	q.Marks = dartPoints(p)
	return q, nil
}

// allowances are the edges' allowances. A mouth has that of the edge beside
// its pressed leg, which its cut line mirrors.
func (r Rules) allowances(p pattern.Piece, mouths []mouth) []float64 {
	all := make([]float64, len(p.Edges))
	for i, e := range p.Edges {
		if takesAllowance(e.Role) {
			all[i] = r.allowance(p.Name, e)
		}
	}
	for _, m := range mouths {
		all[m.edge] = all[m.beside(m.pressed, len(all))]
	}
	return all
}

// checkCutLine makes sure that what is handed out can be cut: allowances wider
// than the shape has room for make the line cross itself.
func checkCutLine(p pattern.Piece, cut geom.Path) error {
	if err := cut.Check(); err != nil {
		return fmt.Errorf("the cut line is broken: %w", err)
	}
	if !cut.Closed() {
		return errors.New("the cut line is open")
	}
	if c := cut.SelfCrossings(); len(c) > 0 {
		return fmt.Errorf("the cut line crosses itself near (%.0f, %.0f): the allowances are too wide there", c[0].At.X, c[0].At.Y)
	}
	if cut.Area() < p.Outline().Area()-geom.OffsetTol*cut.Length() {
		return errors.New("the cut line does not go round the seam line")
	}
	return nil
}

// flatTol is the chord error in mm to which outlines are followed when places
// for lettering are looked for.
const flatTol = 0.2

// letter draws the piece's fold brackets and arrow heads and letters it. It
// reports whether there was room to say which piece it is.
func (q *Piece) letter(t text) bool {
	outline := q.Outline().Flatten(flatTol)
	r := q.room(outline)
	q.markFolds(r)
	q.markGrain(r)
	labels := letter(t, r, centroid(outline))
	q.add(labels, r)
	// The words along the lines take what room is left.
	for _, b := range q.Brackets {
		in := b[0].Tangent(0)
		q.add(alongside(foldWord, b[1], [2]geom.Point{in.Neg(), in}, r), r)
	}
	if g := q.Grain; g.P0 != g.P3 {
		u := g.Tangent(0)
		q.add(alongside("GRAIN", g, [2]geom.Point{u.Left(), u.Right()}, r), r)
	}
	for _, l := range q.Lines {
		if s := l.Path[0]; len(l.Path) == 1 && s.Straight {
			u := s.Tangent(0)
			q.add(alongside(strings.ToUpper(strings.ReplaceAll(l.Name, "_", " ")), s, [2]geom.Point{u.Left(), u.Right()}, r), r)
		}
	}
	return len(labels) > 0
}

// room is the room inside the outline that darts, lines and marks leave.
func (q *Piece) room(outline []geom.Point) *room {
	r := newRoom(outline)
	for _, d := range q.Darts {
		barDart(r, d)
	}
	for _, l := range q.Lines {
		r.bar(l.Path.Flatten(flatTol), obstacleLine)
	}
	for _, m := range q.Marks {
		r.barBox(geom.BoxOf(m.At).Grow(drillInset), obstacleMark)
	}
	for _, hole := range q.Drills {
		r.barBox(geom.BoxOf(hole).Grow(drillInset), obstacleMark)
	}
	return r
}

// markFolds draws a bracket along every fold.
func (q *Piece) markFolds(r *room) {
	for _, fold := range folds(q.Edges) {
		out := fold.Tangent(0).Left()
		b := bracket(fold, r)
		q.Brackets = append(q.Brackets, b)
		q.Arrows = append(q.Arrows, arrow(b.Start(), out), arrow(b.End(), out))
		r.bar(b.Flatten(flatTol), obstacleMark)
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
		r.barBox(geom.BoxOf(end).Grow(arrowWidth/2), obstacleMark)
	}
}

// add letters labels and keeps others off them.
func (q *Piece) add(labels []Label, r *room) {
	for _, l := range labels {
		c := l.Corners()
		r.bar([]geom.Point{c[0], c[1], c[2], c[3], c[0]}, obstacleMark)
	}
	q.Labels = append(q.Labels, labels...)
}

// barDart bars a dart's legs and the cloth between them.
func barDart(r *room, d pattern.Dart) {
	for _, leg := range d.Legs {
		r.bar(leg.Flatten(flatTol), obstacleDart)
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
