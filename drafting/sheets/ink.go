package sheets

import (
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
	"tapeline/drafting/pattern"
)

const (
	inkUnit   = 3.0 // cell of the sheet's ink, mm
	inkClear  = 1.0 // mm that lettering keeps from lines
	edgeClear = 2.0 // mm that lettering keeps from a page's edge
)

// ink is where anything is drawn on the sheet, as cells, so that lettering and
// join marks can be put where nothing is.
type ink struct {
	plan
	*grid.Grid
}

func newInk(pieces []finish.Piece, p plan) *ink {
	var end geom.Point
	for _, t := range p.tiles {
		w := p.windowOf(t)
		end = geom.Pt(max(end.X, w.Max.X), max(end.Y, w.Max.Y))
	}
	k := &ink{p, grid.New(geom.Point{}, geom.Pt(inkUnit, inkUnit), int(math.Ceil(end.X/inkUnit)), int(math.Ceil(end.Y/inkUnit)))}
	for i := range pieces {
		k.draw(&pieces[i])
	}
	return k
}

// draw marks all lines of a piece.
func (k *ink) draw(p *finish.Piece) {
	path := func(path geom.Path) { k.Stroke(path.Flatten(1), inkClear) }
	inPiece(p, path)
	for _, a := range p.Arrows {
		path(a)
	}
	k.Line(p.Grain.P0, p.Grain.P3, inkClear)
	for _, t := range p.Ticks {
		k.Line(t.Stroke.P0, t.Stroke.P3, inkClear)
	}
	for _, m := range p.Marks {
		k.Line(m.At, m.At, markClear(m))
	}
	for _, d := range p.Drills {
		k.Line(d, d, 3)
	}
}

// markClear is the room that a mark takes, mm from its middle.
func markClear(m pattern.Mark) float64 {
	if m.Kind == pattern.MarkBustPoint {
		return 6
	}
	return 3
}

// clear reports whether nothing is drawn in a box on the sheet.
func (k *ink) clear(b geom.Box) bool { return k.Free(k.Cells(b)) }

// whole reports whether one page shows all of a box.
func (k *ink) whole(b geom.Box) bool {
	t := tile{int(math.Floor(b.Min.X / k.step.X)), int(math.Floor(b.Min.Y / k.step.Y))}
	w := k.windowOf(t)
	return w.Grow(-edgeClear).Holds(b)
}
