package finish

import (
	"fmt"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// captionWidths are the widths in ems to which a caption is broken, the
// preferred first.
var captionWidths = [...]float64{30, 8}

// underEms is the width in ems to which a caption under a piece is broken, where
// the piece is no wider.
const underEms = 9

// Caption is the text of a picture of piece n in place of its lettering, which
// is too small to read there: number, title and how it is cut, in letters of an em
// of size mm. It stands on the piece, clear of darts and marks, or under a piece
// that has no room for it.
func (p Piece) Caption(n int, size float64) []Text {
	outline := p.Outline().Flatten(geom.PlaceTol)
	title := fmt.Sprintf("%d %s", n, titleOf(p.Piece))
	cut := p.Cut.String()
	if l := p.captionOn(text{title, []string{cut}}, size, outline); l != nil {
		return l
	}
	b := p.Bounds()
	font := lettering.Regular()
	width := max(b.Width(), underEms*size)
	lines := append(font.Wrap(title, size, width, 0), font.Wrap(cut, size, width, 0)...)
	l := Text{Size: size, Lines: lines}
	l.At = geom.Pt(b.Centre().X-l.Width()/2, b.Max.Y+size/3)
	return []Text{l}
}

// captionOn places a caption on the piece; nil if it has no room for it.
func (p *Piece) captionOn(t text, size float64, outline []geom.Point) []Text {
	r := p.room(outline)
	for _, b := range p.Brackets {
		r.bar(b.Flatten(geom.PlaceTol), obstacleMark)
	}
	r.bar([]geom.Point{p.Grain.P0, p.Grain.P3}, obstacleMark)
	middle := centroid(outline)
	for _, clear := range [...]obstacle{
		obstacleOutside | obstacleDart | obstacleMark | obstacleLine, obstacleOutside | obstacleDart | obstacleMark,
	} {
		for _, width := range captionWidths {
			s := t.set(width, false)
			if l := s.place(size, r, middle, clear); l != nil {
				return l
			}
		}
	}
	return nil
}
