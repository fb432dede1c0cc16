package finish

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// Label is a block of lettering in the regular weight of package lettering,
// already cleaned for it: lines set one under another at the font's line
// height, the block turned clockwise by Angle about its top left corner At.
// Size is the height of the letters' em, mm; the first baseline lies the
// font's ascent below the top.
type Label struct {
	At    geom.Point `json:"at"`
	Angle float64    `json:"angle"`
	Size  float64    `json:"size"`
	Lines []string   `json:"lines"`
}

// Width is how far the label's longest line runs, mm.
func (l Label) Width() float64 {
	var w float64
	for _, line := range l.Lines {
		w = max(w, lettering.Regular().Width(line, l.Size))
	}
	return w
}

// Height is the height of all its lines, mm.
func (l Label) Height() float64 {
	return float64(len(l.Lines)) * lettering.Regular().LineHeight(l.Size)
}

// Corners are the corners of the label's box as read: top left, top right,
// bottom right, bottom left.
func (l Label) Corners() [4]geom.Point {
	along := geom.Polar(l.Width(), l.Angle)
	down := geom.Polar(l.Height(), l.Angle+math.Pi/2)
	return [4]geom.Point{l.At, l.At.Add(along), l.At.Add(along).Add(down), l.At.Add(down)}
}

// Baseline is where the baseline of line i starts.
func (l Label) Baseline(i int) geom.Point {
	font := lettering.Regular()
	return l.At.Add(geom.Polar(float64(i)*font.LineHeight(l.Size)+font.Ascent(l.Size), l.Angle+math.Pi/2))
}
