package render

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"github.com/signintech/gopdf"
	"golang.org/x/image/vector"

	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// ShadedSVG writes a shaded picture as SVG.
func ShadedSVG(ctx context.Context, out io.Writer, p drawing.Shaded) error {
	w := newSVGWriter(false)
	w.head(geom.Box{Max: geom.Point{X: p.Width, Y: p.Height}}, false, p.Title, "")
	for i, f := range p.Facets {
		if err := facetStep(ctx, i); err != nil {
			return err
		}
		hex := fmt.Sprintf("#%02x%02x%02x", f.Color[0], f.Color[1], f.Color[2])
		w.raw(`<path fill="` + hex + `" stroke="` + hex + `" stroke-width=".1" d="M`)
		for k, at := range f.At {
			if k > 0 {
				w.raw("L")
			}
			w.place(at)
		}
		w.raw("z\"/>\n")
	}
	w.raw(`<g fill="#000">` + "\n")
	for i := range p.Texts {
		l := &p.Texts[i]
		for j, text := range l.Lines {
			m := geom.Shift(l.Baseline(j))
			w.raw(`<path d="`)
			for _, contour := range lettering.Regular().Outline(text, l.Size) {
				w.data(contour.Move(m))
			}
			w.raw("\"/>\n")
		}
	}
	w.raw("</g>\n</svg>\n")
	return w.writeTo(out)
}

// ShadedPNG writes a shaded picture as PNG, width pixels wide.
func ShadedPNG(ctx context.Context, out io.Writer, p drawing.Shaded, width int) error {
	scale := float64(width) / p.Width
	bounds := image.Rect(0, 0, width, int(math.Ceil(p.Height*scale)))
	if err := cost.Take(ctx, 4*bounds.Dx()*bounds.Dy()); err != nil {
		return err
	}
	img := image.NewRGBA(bounds)
	draw.Draw(img, bounds, image.White, image.Point{}, draw.Src)
	for i, f := range p.Facets {
		if err := facetStep(ctx, i); err != nil {
			return err
		}
		fillTriangle(img, f, scale)
	}
	r := vector.NewRasterizer(bounds.Dx(), bounds.Dy())
	for i := range p.Texts {
		l := &p.Texts[i]
		for j, text := range l.Lines {
			m := geom.Shift(l.Baseline(j))
			for _, contour := range lettering.Regular().Outline(text, l.Size) {
				for k, q := range contour.Move(m).Flatten(0.02) {
					x, y := float32(q.X*scale), float32(q.Y*scale)
					if k == 0 {
						r.MoveTo(x, y)
					} else {
						r.LineTo(x, y)
					}
				}
				r.ClosePath()
			}
		}
	}
	r.Draw(img, bounds, image.Black, image.Point{})
	return png.Encode(out, img)
}

// facetStep makes way for other work now and then.
func facetStep(ctx context.Context, facet int) error {
	if facet%500 != 0 {
		return nil
	}
	return cost.Step(ctx)
}

// fillTriangle paints the pixels whose middle lies in the triangle, grown by half
// a pixel so that no gaps stay between neighbours.
func fillTriangle(img *image.RGBA, f drawing.Facet, scale float64) {
	a, b, c := f.At[0].Mul(scale), f.At[1].Mul(scale), f.At[2].Mul(scale)
	area := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
	if area < 0 {
		b, c, area = c, b, -area
	}
	if area < 1e-9 {
		return
	}
	ink := color.RGBA{f.Color[0], f.Color[1], f.Color[2], 255}
	out := func(p, q geom.Point, x, y float64) bool {
		return (q.X-p.X)*(y-p.Y)-(q.Y-p.Y)*(x-p.X) < -0.5*(math.Abs(q.X-p.X)+math.Abs(q.Y-p.Y))
	}
	y0, y1 := int(min(a.Y, b.Y, c.Y)), int(max(a.Y, b.Y, c.Y))+1
	x0, x1 := int(min(a.X, b.X, c.X)), int(max(a.X, b.X, c.X))+1
	for py := y0; py <= y1; py++ {
		for px := x0; px <= x1; px++ {
			x, y := float64(px)+0.5, float64(py)+0.5
			if !out(a, b, x, y) && !out(b, c, x, y) && !out(c, a, x, y) {
				img.SetRGBA(px, py, ink)
			}
		}
	}
}

// facetEdge is the width of the line round a facet, mm.
const facetEdge = 0.1

// ShadedPDF writes a shaded picture as a PDF of one page of its size.
func ShadedPDF(ctx context.Context, out io.Writer, p drawing.Shaded) error {
	g, err := newDocument(p.Width, p.Height, p.Title, finish.Label{})
	if err != nil {
		return err
	}
	g.AddPage()
	g.SetLineWidth(points(facetEdge))
	for i, f := range p.Facets {
		if err := facetStep(ctx, i); err != nil {
			return err
		}
		// Drawn round as well as filled: readers leave hairlines between neighbours.
		g.SetFillColor(f.Color[0], f.Color[1], f.Color[2])
		g.SetStrokeColor(f.Color[0], f.Color[1], f.Color[2])
		corners := make([]gopdf.Point, len(f.At))
		for k, at := range f.At {
			corners[k] = gopdf.Point{X: points(at.X), Y: points(at.Y)}
		}
		g.Polygon(corners, "DF")
	}
	c := newCanvas(g, geom.Box{Max: geom.Point{X: p.Width, Y: p.Height}}, 0)
	c.set(drawing.Fine)
	if err := c.letter(p.Texts); err != nil {
		return err
	}
	doc, err := bufferOf(g)
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(out)
	return err
}
