package render

import (
	"math"

	"github.com/signintech/gopdf"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// canvas draws on one page what its window shows of the sheet. Strokes are cut
// at the window's edge.
type canvas struct {
	g      *gopdf.GoPdf
	window geom.Box   // the part of the sheet, mm
	origin geom.Point // the sheet's origin on the page, mm from its top left corner
	parts  []geom.Segment
	dash   *style // the dashed style in use, nil where strokes are solid
}

func newCanvas(g *gopdf.GoPdf, window geom.Box, margin float64) *canvas {
	return &canvas{g: g, window: window, origin: geom.Pt(margin, margin).Sub(window.Min)}
}

// at is a point of the sheet in the page's units.
func (c *canvas) at(p geom.Point) geom.Point {
	return geom.Pt(points(p.X+c.origin.X), points(p.Y+c.origin.Y))
}

// style is how strokes look. All differ in black and white.
type style struct {
	width float64   // mm
	grey  float64   // 0 is black
	dash  []float64 // mm on, mm off, …
}

var (
	cutLine   = &style{width: 0.5}
	seamLine  = &style{width: 0.3, dash: []float64{5, 2}}
	guideLine = &style{width: 0.25, dash: []float64{0.6, 1.8}}
	fine      = &style{width: 0.3}
	hairline  = &style{width: 0.2, grey: 0.55}
	ink       = &style{width: 0.3} // for what is filled or lettered in black
)

// period is the length after which the dashes repeat, mm.
func (s *style) period() float64 {
	var sum float64
	for _, d := range s.dash {
		sum += d
	}
	return sum
}

// set takes up a style. Strokes are drawn grouped by style: setting one costs
// as much as a stroke.
func (c *canvas) set(s *style) {
	c.g.SetLineWidth(points(s.width))
	c.g.SetGrayStroke(s.grey)
	c.g.SetGrayFill(s.grey)
	if c.dash != nil {
		c.g.SetLineType("solid")
		c.dash = nil
	}
	if s.dash != nil {
		c.dash = s
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
	dash := make([]float64, len(c.dash.dash)) // gopdf keeps the slice and changes it
	for i, d := range c.dash.dash {
		dash[i] = points(d)
	}
	c.g.SetCustomLineType(dash, points(math.Mod(along, c.dash.period())))
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

// box strokes the sides of a box.
func (c *canvas) box(b geom.Box) {
	c.path(geom.Polyline(b.Min, geom.Pt(b.Max.X, b.Min.Y), b.Max, geom.Pt(b.Min.X, b.Max.Y), b.Min))
}

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
