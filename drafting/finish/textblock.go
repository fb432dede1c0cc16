package finish

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// Text is a block of lettering in the regular weight of package lettering,
// already cleaned for it. The lines stand one under another at the font's line
// height; the first baseline lies the font's ascent below the top. The block is
// turned clockwise by Angle about its top left corner At.
type Text struct {
	At    geom.Point
	Angle float64
	Size  float64 // of an em, mm
	Lines []string
	Fixed bool // it names what it stands beside, and is not moved away
}

// Width returns the width of the longest line, mm.
func (t Text) Width() float64 {
	var w float64
	for _, line := range t.Lines {
		w = max(w, lettering.Regular().Width(line, t.Size))
	}
	return w
}

// Height returns the height of all lines, mm.
func (t Text) Height() float64 {
	return float64(len(t.Lines)) * lettering.Regular().LineHeight(t.Size)
}

// Corners returns the corners of the block as read: top left, top right, bottom
// right, bottom left.
func (t Text) Corners() [4]geom.Point {
	along := geom.Polar(t.Width(), t.Angle)
	down := geom.Polar(t.Height(), t.Angle+math.Pi/2)
	return [4]geom.Point{t.At, t.At.Add(along), t.At.Add(along).Add(down), t.At.Add(down)}
}

// Baseline returns the start of the baseline of line i.
func (t Text) Baseline(i int) geom.Point {
	font := lettering.Regular()
	return t.At.Add(geom.Polar(float64(i)*font.LineHeight(t.Size)+font.Ascent(t.Size), t.Angle+math.Pi/2))
}
