package render

import (
	"io"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// Of the page of an overlay, mm: how much is left free at its edges, and the
// em of its letters, which is that of 9 points.
const (
	overlayMargin = sheets.DefaultMargin
	overlayEm     = 9 * 25.4 / 72
)

// OverlayPDF writes the picture of OverlaySVG on one page of A4, upright or
// level as it comes out larger.
func OverlayPDF(w io.Writer, was, now finish.Pattern) error {
	paper, err := sheets.ParsePaper("a4")
	if err != nil {
		return err
	}
	upright := geom.Pt(paper.Width, paper.Height)
	level := geom.Pt(paper.Height, paper.Width)
	o, err := layOverlay(was, now, func(b geom.Box) float64 { return overlayEm / max(fit(b, upright), fit(b, level)) })
	if err != nil {
		return err
	}
	page := upright
	if fit(o.bounds, level) > fit(o.bounds, upright) {
		page = level
	}
	return onePage(w, page, o.style, o.label, o.bounds, func(c *canvas, s scaling) error { return c.overlay(&o, s) })
}

// onePage writes a PDF of one page, level or upright, that holds a picture as
// large as it fits.
func onePage(w io.Writer, page geom.Point, style string, label finish.Label, picture geom.Box, draw func(*canvas, scaling) error) error {
	g, err := newDocument(page.X, page.Y, style, label)
	if err != nil {
		return err
	}
	g.AddPage()
	c := newCanvas(g, geom.Box{Max: page}, 0)
	if err := draw(c, scaling{fit(picture, page), picture.Min, geom.Pt(overlayMargin, overlayMargin)}); err != nil {
		return err
	}
	doc, err := bufferOf(g)
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}

// fit is the scale at which a box fits a page with its margins.
func fit(b geom.Box, page geom.Point) float64 {
	return min((page.X-2*overlayMargin)/b.Width(), (page.Y-2*overlayMargin)/b.Height())
}

// scaling takes places of a picture to places on a page.
type scaling struct {
	by       float64
	from, to geom.Point // the picture's corner, and where on the page it comes to lie
}

func (s scaling) point(p geom.Point) geom.Point { return p.Sub(s.from).Mul(s.by).Add(s.to) }

func (s scaling) path(p geom.Path) geom.Path {
	q := make(geom.Path, len(p))
	for i, g := range p {
		q[i] = geom.Segment{P0: s.point(g.P0), P1: s.point(g.P1), P2: s.point(g.P2), P3: s.point(g.P3), Straight: g.Straight}
	}
	return q
}

// overlay draws the picture.
func (c *canvas) overlay(o *overlay, s scaling) error {
	c.set(formerLine)
	c.path(s.path(geom.Path{o.keys[0]}))
	for _, q := range o.pieces {
		for _, p := range q.was {
			c.path(s.path(p))
		}
	}
	c.set(newLine)
	c.path(s.path(geom.Path{o.keys[1]}))
	for _, q := range o.pieces {
		for _, p := range q.now {
			c.path(s.path(p))
		}
	}
	c.set(guideLine)
	for _, q := range o.pieces {
		c.path(s.path(geom.Path{q.grain}))
	}
	for _, q := range o.pieces {
		if q.mark == nil {
			continue
		}
		c.set(paper)
		c.fill(s.path(q.mark.behind))
		c.set(moveLine)
		c.path(s.path(geom.Path{q.mark.arrow}))
		c.set(fine)
		c.circle(s.point(q.mark.circle), q.mark.radius*s.by)
	}
	c.set(ink)
	labels := o.labels()
	for i := range labels {
		labels[i].At, labels[i].Size = s.point(labels[i].At), labels[i].Size*s.by
	}
	return c.letter(labels)
}

// paper is what lies behind letters that stand on lines.
var paper = &style{width: 0.1, grey: 1}
