package finish

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// captionWidths are the widths in ems to which a caption is broken, the
// preferred first.
var captionWidths = [...]float64{30, 8}

// Caption is the text of a picture of the piece in place of its labels, which
// are too small to read there: the title and how it is cut, in letters of an
// em of size mm, clear of darts and marks or, where it is allowed, across them.
// On a small piece it is the title alone; nil if not even that goes in.
func (p Piece) Caption(size float64, across bool) []Text {
	outline := p.Outline().Flatten(geom.PlaceTol)
	r := p.room(outline)
	for _, b := range p.Brackets {
		r.bar(b.Flatten(geom.PlaceTol), obstacleMark)
	}
	r.bar([]geom.Point{p.Grain.P0, p.Grain.P3}, obstacleMark)
	title := titleOf(p.Piece)
	middle := centroid(outline)
	full, short := text{title, []string{p.Cut.String()}}, text{title: title}
	for _, try := range [...]struct {
		text
		clear obstacle
	}{
		{full, obstacleOutside | obstacleDart | obstacleMark | obstacleLine},
		{full, obstacleOutside | obstacleDart | obstacleMark},
		{short, obstacleOutside | obstacleDart | obstacleMark},
		{full, obstacleOutside},
		{short, obstacleOutside},
	} {
		if try.clear == obstacleOutside && !across {
			break
		}
		for _, width := range captionWidths {
			s := try.set(width, false)
			if l := s.place(size, r, middle, try.clear); l != nil {
				return l
			}
		}
	}
	return nil
}

// CaptionsUnder are the places for the title under a piece that has no room for
// a caption, the preferred first: on one line, otherwise broken to be at most as wide as
// the piece. None reaches beyond left or right.
func (p Piece) CaptionsUnder(size, left, right float64) []Text {
	title := titleOf(p.Piece)
	b := p.Bounds()
	var labels []Text
	for _, width := range [...]float64{math.Inf(1), b.Width(), max(b.Width()/2, 3*size)} {
		l := Text{Size: size, Lines: lettering.Regular().Wrap(title, size, width, 3)}
		w := l.Width()
		for _, x := range [...]float64{b.Centre().X - w/2, b.Min.X, b.Max.X - w} {
			l.At = geom.Pt(max(left, min(x, right-w)), b.Max.Y+size/2)
			labels = append(labels, l)
		}
	}
	return labels
}
