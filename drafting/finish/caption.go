package finish

import "tapeline/drafting/geom"

// captionWidths are the widths in ems to which a caption is broken, the
// preferred first.
var captionWidths = [...]float64{30, 8}

// Caption is what a picture of the piece says in place of its labels, which
// are too small to read there: the title and how it is cut, in letters of an
// em of size mm, clear of the lines if there is room. On a small piece it is
// the title alone; nil if not even that goes in.
func (p Piece) Caption(size float64) []Label {
	outline := p.Outline().Flatten(flatTol)
	r := p.room(outline)
	for _, b := range p.Brackets {
		r.bar(b.Flatten(flatTol), obstacleMark)
	}
	r.bar([]geom.Point{p.Grain.P0, p.Grain.P3}, obstacleMark)
	title := textOf(p.Piece, Info{}, 0, 0).title
	middle := centroid(outline)
	full, short := text{title, []string{cutInstruction(p.Cut)}}, text{title: title}
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
		for _, width := range captionWidths {
			s := try.set(width, false)
			if l := s.place(size, r, middle, try.clear); l != nil {
				return l
			}
		}
	}
	return nil
}
