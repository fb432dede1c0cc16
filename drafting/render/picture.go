package render

import (
	"io"

	"tapeline/drafting/drawing"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// Of the page of a picture, mm: the margin, and the em of its letters, which is
// that of 9 points.
const (
	pictureMargin = sheets.DefaultMargin
	pageEm        = 9 * 25.4 / 72
)

// The two ways to lay a page of A4, mm.
var (
	upright = geom.Pt(210, 297)
	level   = geom.Pt(297, 210)
)

// fit returns the scale at which a box fits a page with its margins.
func fit(b geom.Box, page geom.Point) float64 {
	return min((page.X-2*pictureMargin)/b.Width(), (page.Y-2*pictureMargin)/b.Height())
}

// rowMargin is left free round pieces in a row, mm.
const rowMargin = 10.0

// screenEm returns the em of letters that are legible in a window, mm.
func screenEm(b geom.Box) float64 { return legiblePixels / screenPixels * max(b.Width(), b.Height()) }

// PictureSVG writes a picture as SVG, as wide as its window.
func PictureSVG(w io.Writer, p drawing.Picture) error {
	s := newSVGWriter(true)
	s.picture(p)
	return s.writeTo(w)
}

// writePicturePDF writes a picture on one page of A4, as large as it fits.
func writePicturePDF(w io.Writer, p drawing.Picture) error {
	page := upright
	if fit(p.Bounds, level) > fit(p.Bounds, upright) {
		page = level
	}
	g, err := newDocument(page.X, page.Y, p.Style, p.Label)
	if err != nil {
		return err
	}
	g.AddPage()
	c := newCanvas(g, geom.Box{Max: page}, 0)
	p = p.Scaled(fit(p.Bounds, page), geom.Pt(pictureMargin, pictureMargin))
	c.figures(p.Figures)
	c.set(drawing.Fine)
	if err := c.letter(drawing.Texts(p.Figures)); err != nil {
		return err
	}
	doc, err := bufferOf(g)
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}
