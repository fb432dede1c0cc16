package render

import (
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
)

const (
	drillRadius = 1.5 // mm; smaller than the hole that an awl leaves is hard to find
	bustRadius  = 4.0
)

// pieces draws all the lines of the pieces, style by style.
func (c *canvas) pieces(pieces []finish.Piece) {
	var shown []*finish.Piece
	for i := range pieces {
		if b := pieces[i].Bounds(); b.Empty() || b.Overlaps(c.window) { // empty: without its cut line
			shown = append(shown, &pieces[i])
		}
	}
	c.set(cutLine)
	for _, p := range shown {
		c.path(p.CutLine)
	}
	c.set(seamLine)
	for _, p := range shown {
		for i, e := range p.Edges {
			if p.Allowances[i] > 0 { // without allowance the cut line lies on it
				c.path(e.Path)
			}
		}
		for _, d := range p.Darts {
			c.path(d.Legs[0])
			c.path(d.Legs[1])
		}
	}
	c.set(guideLine)
	for _, p := range shown {
		for _, l := range p.Lines {
			c.path(l.Path)
		}
	}
	c.set(fine)
	for _, p := range shown {
		c.fittings(p)
	}
}

// fittings draws grain, fold brackets, notches and marks.
func (c *canvas) fittings(p *finish.Piece) {
	if p.Grain.P0 != p.Grain.P3 {
		c.segment(p.Grain)
	}
	for _, b := range p.Brackets {
		c.path(b)
	}
	for _, a := range p.Arrows {
		c.fill(a)
	}
	for _, t := range p.Ticks {
		c.segment(t.Stroke)
	}
	for _, d := range p.Drills {
		c.circle(d, drillRadius)
	}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			c.circle(m.At, bustRadius)
			for _, r := range []geom.Point{{X: bustRadius}, {Y: bustRadius}} {
				c.segment(geom.Line(m.At.Sub(r), m.At.Add(r)))
			}
		}
	}
}

// joins draws the marks that meet those of the next pages.
func (c *canvas) joins(p *sheets.Page) {
	c.set(hairline)
	for i := range p.Joins {
		c.fill(p.Joins[i].Shape)
	}
}

// gridStep is the side of the grid's squares, mm.
const gridStep = 50.0

// grid draws squares that run on from page to page.
func (c *canvas) grid() {
	c.set(hairline)
	w := c.window
	for x := math.Ceil(w.Min.X/gridStep) * gridStep; x < w.Max.X; x += gridStep {
		c.segment(geom.Line(geom.Pt(x, w.Min.Y), geom.Pt(x, w.Max.Y)))
	}
	for y := math.Ceil(w.Min.Y/gridStep) * gridStep; y < w.Max.Y; y += gridStep {
		c.segment(geom.Line(geom.Pt(w.Min.X, y), geom.Pt(w.Max.X, y)))
	}
}

// frame draws the edge of what the page shows, inside it.
func (c *canvas) frame() {
	c.set(hairline)
	c.box(c.window.Grow(-hairline.width / 2))
}

// legend draws the test squares, the samples of lines and the page map.
func (c *canvas) legend(l *sheets.Legend) {
	c.set(hairline)
	for _, b := range l.MapPages {
		c.box(b)
	}
	c.set(fine)
	for _, b := range l.Squares {
		c.box(b)
	}
	for _, p := range l.MapLines {
		c.path(p)
	}
	for _, k := range l.Keys {
		c.set(map[sheets.LineKind]*style{sheets.LineCut: cutLine, sheets.LineSeam: seamLine, sheets.LineGuide: guideLine}[k.Kind])
		c.segment(k.Stroke)
	}
}
