package finish

import (
	"fmt"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// captionWidths are the widths in ems to which a caption is broken, the
// preferred first.
var captionWidths = [...]float64{30, 8}

// underEms is the width in ems to which a caption under a piece is broken, where
// the piece is no wider.
const underEms = 9

// Caption is the text of a picture of a piece in place of its lettering, which is
// too small to read there: number, title and how it is cut.
type Caption struct {
	text
	piece  geom.Box
	room   *room
	middle geom.Point
}

// NewCaption returns the caption of piece n of a pattern.
func NewCaption(p *Piece, n int) Caption {
	outline := p.Outline().Flatten(geom.PlaceTol)
	r := p.room(outline)
	for _, path := range slices.Concat(p.Brackets, p.Lengthen) {
		r.bar(path.Flatten(geom.PlaceTol), obstacleMark)
	}
	r.bar([]geom.Point{p.Grain.P0, p.Grain.P3}, obstacleMark)
	return Caption{text{fmt.Sprintf("%d %s", n, titleOf(p.Piece)), []string{p.Cut.String()}}, p.Bounds(), r,
		centroid(outline)}
}

// Set sets the caption in letters of an em of size mm. It stands on the piece,
// clear of darts, lines and marks, or under a piece that has no room for it.
func (c *Caption) Set(size float64) []Text {
	if l := c.onPiece(size); l != nil {
		return l
	}
	b := c.piece
	font := lettering.Regular()
	width := max(b.Width(), underEms*size)
	lines := append(font.Wrap(c.title, size, width, 0), font.Wrap(c.rest[0], size, width, 0)...)
	l := Text{Size: size, Lines: lines}
	l.At = geom.Pt(b.Centre().X-l.Width()/2, b.Max.Y+size/3)
	return []Text{l}
}

// onPiece places the caption on the piece; nil if it has no room for it.
func (c *Caption) onPiece(size float64) []Text {
	for _, width := range captionWidths {
		s := c.set(width, false)
		if l := s.place(size, c.room, c.middle, nameClear); l != nil {
			return l
		}
	}
	return nil
}
