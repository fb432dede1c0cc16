package render

import (
	"math"

	"github.com/signintech/gopdf"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/sheets"
)

// canvas draws on one page what its window shows of the sheet. Strokes are cut
// at the window's edge.
type canvas struct {
	g      *gopdf.GoPdf
	window geom.Box   // the part of the sheet, mm
	origin geom.Point // the sheet's origin on the page, mm from its top left corner
	parts  []geom.Segment
	dash   *drawing.Pen // the dashed pen in use; nil while lines are solid

	keyPens map[sheets.LineKind]*drawing.Pen // of the lines that the legend explains
}

func newCanvas(g *gopdf.GoPdf, window geom.Box, margin float64) *canvas {
	return &canvas{g: g, window: window, origin: geom.Pt(margin, margin).Sub(window.Min), keyPens: patternPens}
}

// at is a point of the sheet in the page's units.
func (c *canvas) at(p geom.Point) geom.Point {
	return geom.Pt(points(p.X+c.origin.X), points(p.Y+c.origin.Y))
}

// set takes up a pen. Lines are drawn grouped by pen: setting one costs as much
// as a line.
func (c *canvas) set(p *drawing.Pen) {
	c.g.SetLineWidth(points(p.Width))
	c.g.SetGrayStroke(p.Grey)
	c.g.SetGrayFill(p.Grey)
	if c.dash != nil {
		c.g.SetLineType("solid")
		c.dash = nil
	}
	if p.Dash != nil {
		c.dash = p
	}
}

// path strokes the parts of a path inside the window. The dashes run on over
// its segments and over the pages that show it.
func (c *canvas) path(p geom.Path) {
	along := 0.0
	for i := range p {
		c.parts = p[i].AppendClipped(c.parts[:0], c.window)
		for j := range c.parts {
			if c.dash != nil {
				c.phase(along + startOf(&p[i], &c.parts[j]))
			}
			c.draw(&c.parts[j])
		}
		if c.dash != nil {
			along += p[i].Length()
		}
	}
}

// startOf is how far along a segment a part of it starts.
func startOf(whole, part *geom.Segment) float64 {
	if whole.P0 == part.P0 {
		return 0
	}
	_, _, along := geom.Path{*whole}.Nearest(part.P0)
	return along
}

// phase starts the dashes as far into their pattern as the stroke is along its
// path.
func (c *canvas) phase(along float64) {
	dash := make([]float64, len(c.dash.Dash)) // gopdf keeps the slice and changes it
	period := 0.0
	for i, d := range c.dash.Dash {
		dash[i] = points(d)
		period += d
	}
	c.g.SetCustomLineType(dash, points(math.Mod(along, period)))
}

func (c *canvas) draw(s *geom.Segment) {
	a, d := c.at(s.P0), c.at(s.P3)
	if s.Straight {
		c.g.Line(a.X, a.Y, d.X, d.Y)
		return
	}
	h, k := c.at(s.P1), c.at(s.P2)
	c.g.Curve(a.X, a.Y, h.X, h.Y, k.X, k.Y, d.X, d.Y, "D")
}

func (c *canvas) segment(s geom.Segment) { c.path(geom.Path{s}) }

// circle strokes a circle of four curves, each within 0.03 % of the radius.
func (c *canvas) circle(o geom.Point, r float64) {
	const k = 0.5522847498 // 4/3 tan(π/8): the middle of each curve lies on the circle
	east, south := geom.Pt(r, 0), geom.Pt(0, r)
	for range 4 {
		c.segment(geom.Cubic(o.Add(east), o.Add(east).Add(south.Mul(k)), o.Add(south).Add(east.Mul(k)), o.Add(south)))
		east, south = south, east.Neg()
	}
}

// box draws the sides of a box.
func (c *canvas) box(b geom.Box) { c.path(drawing.BoxPath(b)) }

// fill fills a polygon; it is not cut.
func (c *canvas) fill(p geom.Path) {
	if len(p) < 2 || !p.Bounds().Overlaps(c.window) {
		return
	}
	corners := make([]gopdf.Point, len(p))
	for i, s := range p {
		at := c.at(s.P0)
		corners[i] = gopdf.Point{X: at.X, Y: at.Y}
	}
	c.g.Polygon(corners, "F")
}

// lines sets the lines of a label.
func (c *canvas) lines(l *finish.Text, font *lettering.Font) error {
	for i, line := range l.Lines {
		at := c.at(l.Baseline(i))
		if l.Angle != 0 {
			c.g.Rotate(-l.Angle*180/math.Pi, at.X, at.Y)
		}
		c.g.SetXY(at.X, at.Y)
		if err := c.g.Text(font.Clean(line)); err != nil {
			return err
		}
		if l.Angle != 0 {
			c.g.RotateReset()
		}
	}
	return nil
}

// blankMargins paints the margins white: gopdf knows no clipping, so letters
// that cross the edge of the page and half the width of lines along it would
// stand in them.
func (c *canvas) blankMargins(width, height float64) {
	in := geom.Box{Min: c.window.Min.Add(c.origin), Max: c.window.Max.Add(c.origin)}
	c.g.SetGrayFill(1)
	for _, b := range []geom.Box{
		geom.BoxOf(geom.Pt(0, 0), geom.Pt(width, in.Min.Y)),
		geom.BoxOf(geom.Pt(0, in.Max.Y), geom.Pt(width, height)),
		geom.BoxOf(geom.Pt(0, in.Min.Y), geom.Pt(in.Min.X, in.Max.Y)),
		geom.BoxOf(geom.Pt(in.Max.X, in.Min.Y), geom.Pt(width, in.Max.Y)),
	} {
		if b.Width() > 0 && b.Height() > 0 {
			c.g.RectFromUpperLeftWithStyle(points(b.Min.X), points(b.Min.Y), points(b.Width()), points(b.Height()), "F")
		}
	}
}

// shape draws a line, a circle or a filled shape.
func (c *canvas) shape(s *drawing.Shape) {
	switch {
	case s.Radius > 0:
		c.circle(s.At, s.Radius)
	case s.Filled:
		c.fill(s.Path)
	default:
		c.path(s.Path)
	}
}

// piecePens are the pens of pieces in the order in which they are taken up.
var piecePens = [...]*drawing.Pen{drawing.Cut, drawing.Seam, drawing.Guide, drawing.Fine}

// pieces draws all but the texts of pieces that the window shows any of.
func (c *canvas) pieces(pieces []drawing.Figure) {
	for _, pen := range piecePens {
		c.set(pen)
		for i := range pieces {
			f := &pieces[i]
			if !f.Bounds.Overlaps(c.window) {
				continue
			}
			for j := range f.Parts {
				if f.Parts[j].Pen == pen {
					c.part(&f.Parts[j])
				}
			}
		}
	}
}

// part draws the shapes of a part, except an edge on which the cut line lies.
func (c *canvas) part(p *drawing.Part) {
	for i := range p.Shapes {
		if s := &p.Shapes[i]; p.Layer != drawing.LayerSeam || s.Allowance > 0 || p.Name != "seam-line" {
			c.shape(s)
		}
	}
}

// figures draws figures without their texts, one after another.
func (c *canvas) figures(figures []drawing.Figure) {
	for i := range figures {
		for j := range figures[i].Parts {
			if p := &figures[i].Parts[j]; p.Pen != nil {
				c.set(p.Pen)
				c.part(p)
			}
		}
		c.figures(figures[i].Figures)
	}
}

// joins draws the marks that meet those of the next pages.
func (c *canvas) joins(p *sheets.Page) {
	c.set(drawing.Hair)
	for i := range p.Joins {
		c.fill(p.Joins[i].Shape)
	}
}

// gridStep is the side of the grid's squares, mm.
const gridStep = 50.0

// grid draws squares that run on from page to page.
func (c *canvas) grid() {
	c.set(drawing.Hair)
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
	c.set(drawing.Hair)
	c.box(c.window.Grow(-drawing.Hair.Width / 2))
}

// legend draws the test squares, the samples of lines and the page map.
func (c *canvas) legend(l *sheets.Legend) {
	c.set(drawing.Hair)
	for _, b := range l.MapPages {
		c.box(b)
	}
	c.set(drawing.Fine)
	for _, b := range l.Squares {
		c.box(b)
	}
	for _, p := range l.MapLines {
		c.path(p)
	}
	for _, k := range l.Keys {
		c.set(c.keyPens[k.Kind])
		c.segment(k.Stroke)
	}
}

// patternPens are the pens of the lines that the legend of a pattern explains.
var patternPens = map[sheets.LineKind]*drawing.Pen{
	sheets.LineCut: drawing.Cut, sheets.LineSeam: drawing.Seam, sheets.LineGuide: drawing.Guide,
}
