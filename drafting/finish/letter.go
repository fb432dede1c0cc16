package finish

import (
	"slices"

	"tapeline/drafting/geom"
)

// The lettering is tried large before small, as its author would write it
// before squeezed. 2.2 mm of em is about 6 point, the least that is read with
// ease (common practice).
var (
	// letterTries are what may be crossed, and down to which height of em in
	// mm before something more may be.
	letterTries = [...]struct {
		clear    obstacle
		smallest float64
	}{
		{nameClear, 3},
		{nameClear &^ obstacleLine, 2.6},
		{nameClear, 2.2},
		{obstacleOutside | obstacleDart | obstacleFold, 2.2},
		{obstacleOutside | obstacleFold, 2.2},
	}
	letterSizes  = [...]float64{4.5, 4, 3.5, 3, 2.6, leastLetters}
	letterShapes = [...]struct {
		ems   float64
		runOn bool
	}{
		{28, false}, {18, false}, {12, false}, {100, true}, {50, true}, {25, true}, {12, true},
	}
)

// leastLetters is the smallest size of lettering, mm. Beside a fold that leaves no room
// for it, foldedLetters is that of the title alone.
const (
	leastLetters  = 2.2
	foldedLetters = 1.6
)

// letterMargin is the free space round the block, in ems.
const letterMargin = 0.5

// letter finds a place for what the piece says, as near as can be to want. On
// a piece too small for all of it the short text is lettered, or the title
// alone; nil if not even that goes in.
func letter(t text, r *room, want geom.Point) []Text {
	for _, t := range [...]text{t, t.short(), {title: t.title}} {
		var settings [len(letterShapes)]setting // made when they are first tried
		for _, try := range letterTries {
			for _, size := range letterSizes {
				if size < try.smallest {
					break
				}
				for i := range settings {
					s := &settings[i]
					if s.title == nil {
						*s = t.set(letterShapes[i].ems, letterShapes[i].runOn)
					}
					if l := s.place(size, r, want, try.clear); l != nil {
						return l
					}
				}
			}
		}
	}
	if !slices.ContainsFunc(r.lines, func(b barred) bool { return b.kind == obstacleFold }) {
		return nil
	}
	for _, shape := range letterShapes {
		s := text{title: t.title}.set(shape.ems, shape.runOn)
		if l := s.place(foldedLetters, r, want, obstacleOutside|obstacleFold); l != nil {
			return l
		}
	}
	return nil
}

// letterTitle reports whether a title fits on the piece at the smallest size,
// even across its lines and marks.
func letterTitle(title string, r *room, want geom.Point) bool {
	for _, shape := range letterShapes {
		s := text{title: title}.set(shape.ems, shape.runOn)
		if s.place(leastLetters, r, want, obstacleOutside) != nil {
			return true
		}
	}
	return false
}

// short returns the text of a small piece: how it is cut, its number and order.
func (t text) short() text { return text{t.title, t.rest[:min(3, len(t.rest))]} }

// place sets the text at a size in mm where it stands clear of the obstacles,
// upright if it can; nil if there is no room.
func (s *setting) place(size float64, r *room, want geom.Point, avoid obstacle) []Text {
	margin := 2 * letterMargin * size
	w, h := s.width*size+margin, s.height*size+margin
	if b, ok := r.place(w, h, want, avoid); ok {
		return s.labels(b.Grow(-margin/2), size, false)
	}
	if b, ok := r.place(h, w, want, avoid); ok {
		return s.labels(b.Grow(-margin/2), size, true)
	}
	return nil
}
