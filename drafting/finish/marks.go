package finish

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Sizes of what is marked on a piece, mm (common practice).
const (
	doubleNotch = 6.0 // between the two ticks of a double notch
	bareTick    = 4.0 // into the piece, where there is no allowance to snip
	drillInset  = 3.0 // of a drill hole from the dart's point, so that the seam hides it
	arrowLength = 5.0
	arrowWidth  = 3.2
	bracketEnd  = 40.0 // of a fold bracket from the fold's end
	bracketIn   = 12.0 // of the bracket from the fold
	holeBar     = 4.0  // across the end of a buttonhole
)

// foldWord is lettered along a fold.
const foldWord = "FOLD"

// foldEnding is lettered after the name of a centre on a fold.
const foldEnding = " · " + foldWord

// legNotches returns the piece's notches with one at either leg of every dart
// that opens at an edge, and one where two pleats touch.
func legNotches(p pattern.Piece, mouths []mouth) []pattern.Notch {
	if len(mouths) == 0 {
		return p.Notches
	}
	notches := append([]pattern.Notch(nil), p.Notches...)
	for _, m := range mouths {
		e, n := p.Edges[m.edge], len(p.Edges)
		if p.Edges[(m.edge+n-1)%n].Role != pattern.RoleDartMouth {
			notches = append(notches, pattern.Notch{Edge: e.Name, At: 0, Kind: pattern.NotchSingle})
		}
		notches = append(notches, pattern.Notch{Edge: e.Name, At: e.Path.Length(), Kind: pattern.NotchSingle})
	}
	return notches
}

// ticks draws the notches out to the cut line, square to the seam line or in
// line with the leg of a dart. Both ticks of a double notch stay on the edge
// even if it is marked at a corner.
func (p *Piece) ticks(mouths []mouth) []Tick {
	var all []Tick
	for i, notch := range p.Notches {
		k := slices.IndexFunc(p.Edges, func(e pattern.Edge) bool { return e.Name == notch.Edge })
		edge := p.Edges[k].Path
		length := edge.Length()
		add := func(at float64) {
			from, out, reach := edge.At(at), edge.TangentAt(at).Left(), p.Allowances[k]
			if j := slices.IndexFunc(mouths, func(m mouth) bool { return m.edge == k }); j >= 0 {
				leg := mouths[j].legs[0]
				if at > length/2 {
					leg = mouths[j].legs[1]
				}
				out, reach = leg.along.Neg(), MitreLimit*reach
			}
			all = append(all, Tick{i, p.tick(from, out, reach)})
		}
		if notch.Kind == pattern.NotchDouble {
			half := min(doubleNotch, length) / 2
			at := max(half, min(length-half, notch.At))
			add(at - half)
			add(at + half)
		} else {
			add(max(0, min(length, notch.At)))
		}
	}
	return all
}

// tick returns one stroke from the seam line out to the cut line. Near a corner
// the cut line may be nearer than the allowance or, beside a wider one,
// farther. Without an allowance to snip the stroke lies inside.
func (p *Piece) tick(from, out geom.Point, reach float64) geom.Segment {
	if reach == 0 {
		return geom.Line(from, from.Sub(out.Mul(bareTick)))
	}
	stroke := geom.Line(from, from.Add(out.Mul(reach)))
	if cut, ok := p.cutAcross(stroke); ok {
		return cut
	}
	if _, short, _ := p.CutLine.Nearest(stroke.P3); short > geom.OffsetTol {
		const aslant = 1.25 // the edges nearly continue each other; a sharper corner takes no notch
		if cut, ok := p.cutAcross(geom.Line(from, from.Add(out.Mul(aslant*slices.Max(p.Allowances))))); ok {
			return cut
		}
	}
	return stroke
}

// cutAcross returns a stroke cut at the cut line, and reports whether it
// crosses it.
func (p *Piece) cutAcross(stroke geom.Segment) (geom.Segment, bool) {
	box := reachOf(stroke)
	found := false
	for _, s := range p.CutLine {
		if !box.Overlaps(reachOf(s)) {
			continue
		}
		for _, c := range stroke.Crossings(s) {
			if c.A > geom.JoinTol && c.A < stroke.Length() {
				stroke, found = geom.Line(stroke.P0, c.At), true
			}
		}
	}
	return stroke, found
}

// drills returns the holes for the darts: near each point, and for a dart
// inside the piece also near its widest points, all inset so that the sewn dart
// hides them.
func drills(darts []pattern.Dart) []geom.Point {
	var holes []geom.Point
	for _, d := range darts {
		if len(d.Legs[0]) == 0 || len(d.Legs[1]) == 0 {
			continue
		}
		length := d.Legs[0].Length()
		inside := d.Legs[0].At(length/2).Lerp(d.Legs[1].At(d.Legs[1].Length()/2), 0.5)
		for _, apex := range d.Apexes {
			way := inside.Sub(apex)
			holes = append(holes, apex.Add(way.Unit().Mul(min(drillInset, way.Norm()))))
		}
		if d.Mouth == "" {
			holes = append(holes, widest(d)...)
		}
	}
	return holes
}

// drillMarks returns the drill holes marked on the piece: a pocket's corner, a
// button's position.
func drillMarks(p pattern.Piece) []geom.Point {
	var holes []geom.Point
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkDrill {
			holes = append(holes, m.At)
		}
	}
	return holes
}

// widest returns the holes beside the points where the legs turn, where they
// are farthest apart. A dart too narrow for two holes has none.
func widest(d pattern.Dart) []geom.Point {
	if len(d.Legs[0]) != len(d.Legs[1]) {
		return nil
	}
	var a, b geom.Point
	for i := range len(d.Legs[0]) - 1 {
		if p, q := d.Legs[0][i].P3, d.Legs[1][i].P3; p.Dist(q) > a.Dist(b) {
			a, b = p, q
		}
	}
	if a.Dist(b) < 3*drillInset {
		return nil
	}
	in := b.Sub(a).Unit().Mul(drillInset)
	return []geom.Point{a.Add(in), b.Sub(in)}
}

// dartPoints returns the piece's marks with one at every dart's point.
func dartPoints(p pattern.Piece) []pattern.Mark {
	marks := append([]pattern.Mark(nil), p.Marks...)
	for _, d := range p.Darts {
		for _, apex := range d.Apexes {
			if !hasDrillAt(marks, apex) {
				marks = append(marks, pattern.Mark{Name: d.Name, Kind: pattern.MarkDrill, At: apex})
			}
		}
	}
	return marks
}

// hasDrillAt reports whether a drill mark lies at the point.
func hasDrillAt(marks []pattern.Mark, at geom.Point) bool {
	for _, m := range marks {
		if m.Kind == pattern.MarkDrill && m.At.Near(at, legTol) {
			return true
		}
	}
	return false
}

// arrow returns an arrow head: a closed triangle with its tip at a point,
// pointing along a direction.
func arrow(tip, direction geom.Point) geom.Path {
	u := direction.Unit()
	back := tip.Sub(u.Mul(arrowLength))
	side := u.Right().Mul(arrowWidth / 2)
	return geom.Polyline(tip, back.Add(side), back.Sub(side), tip)
}

// bracket returns the sign that a piece lies on the fold: a line beside it
// whose ends turn to the fold.
func bracket(fold geom.Segment, r *room) geom.Path {
	u := fold.Tangent(0)
	end := min(bracketEnd, 0.15*fold.Length())
	a, b := fold.P0.Add(u.Mul(end)), fold.P3.Sub(u.Mul(end))
	for in := bracketIn; ; in /= 2 {
		v := u.Right().Mul(in)
		c, d := a.Add(v), b.Add(v)
		hair := v.Mul(1e-3)
		if in < bracketIn/4 || r.free([4]geom.Point{a.Add(hair), b.Add(hair), d, c}, obstacleOutside) {
			return geom.Polyline(a, c, d, b)
		}
	}
}

// alongside letters a word beside a line inside the piece, on one of its sides
// and in its direction of reading. It returns no text if there is no room.
func alongside(word string, s geom.Segment, sides [2]geom.Point, r *room) []Text {
	const gap = 1
	angle := s.Tangent(0).Angle()
	if angle > math.Pi/2-1e-9 || angle <= -math.Pi/2-1e-9 {
		angle += math.Pi // read from the left, or upwards
	}
	for _, size := range [...]float64{3.5, 2.6, 2.2} {
		l := Text{Angle: angle, Size: size, Lines: []string{word}}
		w, h := l.Width(), l.Height()
		if w > 0.8*s.Length() {
			continue
		}
		along, down := geom.Polar(w/2, angle), geom.Polar(h/2, angle+math.Pi/2)
		for _, side := range sides {
			for _, f := range [...]float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8} {
				middle := s.At(f).Add(side.Mul(gap + h/2))
				l.At = middle.Sub(along).Sub(down)
				if r.free(l.Corners(), nameClear) {
					return []Text{l}
				}
			}
		}
	}
	return nil
}
