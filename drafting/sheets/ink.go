package sheets

import (
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
	"tapeline/drafting/pattern"
)

const (
	inkUnit   = 3.0 // size of a cell, mm
	inkClear  = 1.0 // distance of lettering from lines, mm
	edgeClear = 2.0 // distance of lettering from a page's edge, mm
)

// ink marks the cells of the sheet where something is drawn, to find room for
// lettering and join marks.
type ink struct {
	plan
	*grid.Grid
}

// newInk returns the ink of the pieces of a plan.
func newInk(pieces []finish.Piece, p plan) *ink {
	var end geom.Point
	for _, t := range p.tiles {
		w := p.windowOf(t)
		end = geom.Pt(max(end.X, w.Max.X), max(end.Y, w.Max.Y))
	}
	w, h := int(math.Ceil(end.X/inkUnit)), int(math.Ceil(end.Y/inkUnit))
	k := &ink{p, grid.New(geom.Point{}, geom.Pt(inkUnit, inkUnit), w, h)}
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

// markClear returns the room that a mark takes, mm from its middle.
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
