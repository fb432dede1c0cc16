package drawing

import (
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Picture is a page of figures that is looked at and not cut from, such as a lay
// plan. It is laid out at true scale; a format scales it to its page or window.
type Picture struct {
	Style       string // of the pattern
	Label       finish.Label
	Title       string
	Description string
	Figures     []Figure
	Bounds      geom.Box
}

// Scaled returns the picture scaled by a factor, its corner moved to a point.
func (p Picture) Scaled(by float64, to geom.Point) Picture {
	s := scaling{by, p.Bounds.Min, to}
	p.Figures = s.figures(p.Figures)
	p.Bounds = geom.BoxOf(to, s.point(p.Bounds.Max))
	return p
}

type scaling struct {
	by       float64
	from, to geom.Point // the picture's corner before and after
}

func (s scaling) point(p geom.Point) geom.Point { return p.Sub(s.from).Mul(s.by).Add(s.to) }

func (s scaling) path(p geom.Path) geom.Path {
	q := make(geom.Path, len(p))
	for i, g := range p {
		q[i] = geom.Segment{P0: s.point(g.P0), P1: s.point(g.P1), P2: s.point(g.P2), P3: s.point(g.P3), Straight: g.Straight}
	}
	return q
}

func (s scaling) figures(figures []Figure) []Figure {
	out := make([]Figure, len(figures))
	for i, f := range figures {
		f.Parts = append([]Part(nil), f.Parts...)
		for j := range f.Parts {
			f.Parts[j] = s.part(f.Parts[j])
		}
		f.Figures = s.figures(f.Figures)
		out[i] = f
	}
	return out
}

func (s scaling) part(p Part) Part {
	p.Shapes, p.Texts = append([]Shape(nil), p.Shapes...), append([]finish.Text(nil), p.Texts...)
	for i := range p.Shapes {
		q := &p.Shapes[i]
		q.Path, q.At, q.Radius = s.path(q.Path), s.point(q.At), q.Radius*s.by
	}
	for i := range p.Texts {
		t := &p.Texts[i]
		t.At, t.Size = s.point(t.At), t.Size*s.by
	}
	return p
}

// BoxPath returns the outline of a box, clockwise.
func BoxPath(b geom.Box) geom.Path {
	return geom.Polyline(b.Min, geom.Pt(b.Max.X, b.Min.Y), b.Max, geom.Pt(b.Min.X, b.Max.Y), b.Min)
}
