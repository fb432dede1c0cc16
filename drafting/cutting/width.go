package cutting

import (
	"math"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// WidthAt returns the width of the piece at height y in mm, less the darts
// there.
func WidthAt(p pattern.Piece, y float64) float64 {
	outline := p.Outline()
	box := outline.Bounds()
	if y < box.Min.Y-nearBreak || y > box.Max.Y+nearBreak {
		return 0
	}
	y = max(box.Min.Y+nearBreak, min(box.Max.Y-nearBreak, y)) // an edge along the line is no width
	across := geom.Path{geom.Line(geom.Pt(box.Min.X-1, y), geom.Pt(box.Max.X+1, y))}
	var sum float64
	for _, part := range across.ClipTo(outline) {
		sum += part.Length()
	}
	for _, d := range p.Darts {
		a, b := across.Crossings(d.Legs[0]), across.Crossings(d.Legs[1])
		if len(a) > 0 && len(b) > 0 {
			sum -= math.Abs(a[0].At.X - b[0].At.X)
		}
	}
	return sum
}
