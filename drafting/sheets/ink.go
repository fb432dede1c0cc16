package sheets

import (
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
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
	raster
}

var inkCell = geom.Pt(inkUnit, inkUnit)

func newInk(pieces []finish.Piece, p plan) *ink {
	var end geom.Point
	for _, t := range p.tiles {
		w := p.windowOf(t)
		end = geom.Pt(max(end.X, w.Max.X), max(end.Y, w.Max.Y))
	}
	k := &ink{p, newRaster(int(math.Ceil(end.X/inkUnit)), int(math.Ceil(end.Y/inkUnit)))}
	for i := range pieces {
		k.draw(&pieces[i])
	}
	return k
}

// draw marks all lines of a piece.
func (k *ink) draw(p *finish.Piece) {
	path := func(path geom.Path) { k.stroke(path.Flatten(1), geom.Point{}, inkCell, inkClear) }
	inPiece(p, path)
	for _, a := range p.Arrows {
		path(a)
	}
	k.line(p.Grain.P0, p.Grain.P3, geom.Point{}, inkCell, inkClear)
	for _, t := range p.Ticks {
		k.line(t.Stroke.P0, t.Stroke.P3, geom.Point{}, inkCell, inkClear)
	}
	for _, m := range p.Marks {
		k.line(m.At, m.At, geom.Point{}, inkCell, markClear(m))
	}
	for _, d := range p.Drills {
		k.line(d, d, geom.Point{}, inkCell, 3)
	}
}

// markClear is the room that a mark takes, mm from its middle.
func markClear(m pattern.Mark) float64 {
	if m.Kind == pattern.MarkBustPoint {
		return 6
	}
	return 3
}

// cells is the run of cells that a box touches.
func (k *ink) cells(b geom.Box) (x0, y0, x1, y1 int) {
	f := func(v float64) int { return int(math.Floor(v / inkUnit)) }
	return f(b.Min.X), f(b.Min.Y), f(b.Max.X), f(b.Max.Y)
}

// clear reports whether nothing is drawn in a box on the sheet.
func (k *ink) clear(b geom.Box) bool {
	x0, y0, x1, y1 := k.cells(b)
	return k.free(x0, y0, x1, y1)
}

// block keeps a box from being drawn in.
func (k *ink) block(b geom.Box) {
	x0, y0, x1, y1 := k.cells(b)
	for y := y0; y <= y1; y++ {
		k.setRun(y, x0, x1)
	}
}

// whole reports whether one page shows all of a box.
func (k *ink) whole(b geom.Box) bool {
	t := tile{int(math.Floor(b.Min.X / k.step.X)), int(math.Floor(b.Min.Y / k.step.Y))}
	w := k.windowOf(t)
	return w.Grow(-edgeClear).Holds(b)
}
