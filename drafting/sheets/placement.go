package sheets

import (
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// placement is a piece's place on the sheet: turned by half or not, then shifted.
// The grain stays vertical in both cases.
type placement struct {
	turned bool
	shift  geom.Point
}

// halfTurn is exact, whereas geom.Turn by π has a rounding error.
var halfTurn = geom.Reflect(geom.Point{}, geom.Pt(1, 0)).Then(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))

// motion returns the motion that puts the piece there.
func (p placement) motion() geom.Motion {
	if p.turned {
		return halfTurn.Then(geom.Shift(p.shift))
	}
	return geom.Shift(p.shift)
}

// outline returns an outline where the placement puts it.
func (p placement) outline(points []geom.Point) []geom.Point {
	moved := make([]geom.Point, len(points))
	for i, q := range points {
		if p.turned {
			q = q.Neg()
		}
		moved[i] = q.Add(p.shift)
	}
	return moved
}

// turned returns an outline turned by half.
func turned(points []geom.Point) []geom.Point { return placement{turned: true}.outline(points) }

// inRow places the pieces side by side as drawn, with their tops level, in as many
// rows as the width requires: the baseline of the search.
func inRow(outlines [][]geom.Point, gap, width float64) []placement {
	places := make([]placement, len(outlines))
	at, below := geom.Pt(lineClear, lineClear), 0.0
	for i, o := range outlines {
		b := geom.BoxOf(o...)
		if at.X+b.Width()+lineClear > width && at.X > lineClear {
			at = geom.Pt(lineClear, below+gap)
		}
		places[i].shift = at.Sub(b.Min)
		at.X += b.Width() + gap
		below = max(below, at.Y+b.Height())
	}
	return places
}

// place returns the piece, with everything drawn on it, at a placement.
func place(p finish.Piece, at placement) finish.Piece {
	m := at.motion()
	moved := p
	moved.CutLine = p.CutLine.Move(m)
	moved.Brackets = movePaths(p.Brackets, m)
	moved.Lengthen = movePaths(p.Lengthen, m)
	moved.Arrows = movePaths(p.Arrows, m)
	moved.Grain = p.Grain.Move(m)
	moved.Edges = mapped(p.Edges, func(e pattern.Edge) pattern.Edge { e.Path = e.Path.Move(m); return e })
	moved.Lines = mapped(p.Lines, func(l pattern.Line) pattern.Line { l.Path = l.Path.Move(m); return l })
	moved.Marks = mapped(p.Marks, func(k pattern.Mark) pattern.Mark { k.At = m.Apply(k.At); return k })
	moved.Drills = mapped(p.Drills, m.Apply)
	moved.Ticks = mapped(p.Ticks, func(t finish.Tick) finish.Tick { t.Stroke = t.Stroke.Move(m); return t })
	moved.Darts = mapped(p.Darts, func(d pattern.Dart) pattern.Dart {
		d.Legs[0], d.Legs[1] = d.Legs[0].Move(m), d.Legs[1].Move(m)
		d.Apexes = mapped(d.Apexes, m.Apply)
		return d
	})
	moved.Texts = placeLabels(p.Texts, m)
	return moved
}

// placeLabels moves texts with their piece but keeps them upright: those below
// each other move with the middle of their common box, since the motion only
// turns by half.
func placeLabels(labels []finish.Text, m geom.Motion) []finish.Text {
	moved := slices.Clone(labels)
	for _, column := range columns(moved) {
		middle := boundsOf(column).Centre()
		step := m.Apply(middle).Sub(middle)
		for i := range column {
			column[i].At = column[i].At.Add(step)
		}
	}
	return moved
}

// movePaths returns the paths after a motion.
func movePaths(paths []geom.Path, m geom.Motion) []geom.Path {
	return mapped(paths, func(p geom.Path) geom.Path { return p.Move(m) })
}

// mapped returns f of every value. nil stays nil.
func mapped[T any](values []T, f func(T) T) []T {
	if values == nil {
		return nil
	}
	r := make([]T, len(values))
	for i, v := range values {
		r[i] = f(v)
	}
	return r
}
