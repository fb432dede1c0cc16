package document

import (
	"fmt"

	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
)

// The chord errors that can be asked of Flatten, mm: a point is rounded to
// 0.001 mm, which takes its part of the error, and above 1 mm a neckline is no
// longer one.
const (
	minFlatten = 0.01
	maxFlatten = 1.0
)

// CheckFlatten returns a fault.List if a chord error in mm is out of range.
func CheckFlatten(chordError float64) error {
	if chordError >= minFlatten && chordError <= maxFlatten {
		return nil
	}
	return fault.List{{Code: fault.Range, Field: "/flatten", Value: fmt.Sprintf("%g mm", chordError),
		Accepted: fmt.Sprintf("%g to %g mm", minFlatten, maxFlatten)}}
}

// Flatten returns the document with every curve as a polyline too, none of its
// points' chords farther from the curve than chordError mm, rounding included.
// A closed line repeats its first point at its end.
func (d Document) Flatten(chordError float64) Document {
	tol := chordError - 0.001
	flat := func(p Path) []Point { return each(p.geom().Flatten(tol), NewPoint) }
	d.Pieces = each(d.Pieces, func(p Piece) Piece {
		var seam geom.Path
		p.Edges = each(p.Edges, func(e Edge) Edge {
			e.Points = flat(e.Path)
			seam = append(seam, e.Path...)
			return e
		})
		p.SeamLine, p.CutLine = flat(Path(seam)), flat(p.CutPath)
		p.Darts = each(p.Darts, func(d Dart) Dart {
			d.LegPoints = [][]Point{flat(d.Legs[0]), flat(d.Legs[1])}
			return d
		})
		p.Lines = each(p.Lines, func(l Line) Line {
			l.Points = flat(l.Path)
			return l
		})
		return p
	})
	return d
}
