package render

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// The test squares and the long edges of the pieces, across pages, as poppler
// renders them at 300 dpi on every paper: true within 0.2 mm.
func TestScale(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, name := range allPapers() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o := on(t, name)
			l, err := sheets.Plan(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			m := ruler{t, write(t, p, o), l, 300}
			for i, side := range []float64{50, 50.8} {
				s := l.Legend.Squares[i]
				c := s.Centre()
				left, right := m.line(0, geom.Pt(s.Min.X, c.Y), geom.Pt(1, 0)), m.line(0, geom.Pt(s.Max.X, c.Y), geom.Pt(1, 0))
				top, bottom := m.line(0, geom.Pt(c.X, s.Min.Y), geom.Pt(0, 1)), m.line(0, geom.Pt(c.X, s.Max.Y), geom.Pt(0, 1))
				if w, h := right.X-left.X, bottom.Y-top.Y; math.Abs(w-side) > 0.2 || math.Abs(h-side) > 0.2 {
					t.Errorf("the square of %g mm measures %.3f × %.3f", side, w, h)
				}
			}
			for _, piece := range l.Pieces {
				m.edge(piece.Name, piece.CutLine)
			}
		})
	}
}

// ruler measures what poppler renders of a document.
type ruler struct {
	t    *testing.T
	file string
	l    sheets.Layout
	dpi  float64
}

// line is where the stroke near q really lies, across the direction given, on
// the sheet: the middle of its darkness.
func (m ruler) line(page int, q, across geom.Point) geom.Point {
	m.t.Helper()
	const reach = 1.2 // mm on either side of q; no other line is so near
	onPage := q.Sub(m.l.Pages[page].Window.Min).Add(geom.Pt(m.l.Margin, m.l.Margin))
	corner := geom.Pt(math.Floor((onPage.X-3)/25.4*m.dpi), math.Floor((onPage.Y-3)/25.4*m.dpi)) // whole pixels
	at := corner.Mul(25.4 / m.dpi)
	pic := rasterize(m.t, m.file, page+1, m.dpi, at.X+0.001, at.Y+0.001, 6, 6)
	var weight, moment float64
	for s := -reach; s <= reach; s += 0.01 {
		v := onPage.Add(across.Mul(s)).Sub(at)
		x, y := int(pic.mm(v.X)), int(pic.mm(v.Y))
		if x < 0 || y < 0 || x >= pic.w || y >= pic.h {
			continue
		}
		dark := 255 - float64(pic.at(x, y))
		weight += dark
		moment += dark * s
	}
	if weight < 255 { // not a hundredth of a millimetre of black
		m.t.Errorf("no line at %v on page %d", q, page+1)
		return q
	}
	return q.Add(across.Mul(moment / weight))
}

// edge measures an outline at points all along it, on the pages that show
// them, and the length between those points.
func (m ruler) edge(name string, outline geom.Path) {
	m.t.Helper()
	const points = 26
	total := outline.Length()
	var want, got []geom.Point
	pages := make(map[int]bool)
	for i := range points {
		d := total * (float64(i) + 0.37) / points
		q, tangent := outline.At(d), outline.TangentAt(d)
		page := m.pageOf(q)
		if page < 0 || !outline.TangentAt(d-2).Near(outline.TangentAt(d+2), 0.1) {
			continue // at a corner, or at the edge of a page
		}
		at := m.line(page, q, tangent.Right())
		if at.Dist(q) > 0.1 {
			m.t.Errorf("%s: %.3f mm off at %v on page %d", name, at.Dist(q), q, page+1)
		}
		want, got = append(want, q), append(got, at)
		pages[page] = true
	}
	if len(want) < 5 {
		m.t.Fatalf("%s: only %d points to measure", name, len(want))
	}
	a, b := geom.Polyline(want...).Length(), geom.Polyline(got...).Length()
	if math.Abs(a-b) > 0.2 {
		m.t.Errorf("%s: %.3f mm between the points of its edge measure %.3f", name, a, b)
	}
	m.t.Logf("%s: %.2f mm over %d pages measure %.3f more", name, a, len(pages), b-a)
}

// pageOf is the page that shows a point well inside its window, -1 for none.
func (m ruler) pageOf(q geom.Point) int {
	for i, p := range m.l.Pages {
		if !p.Cover && p.Window.Grow(-4).Contains(q) && !m.busy(p, q) {
			return i
		}
	}
	return -1
}

// busy reports whether anything else is drawn near a point of an outline.
func (m ruler) busy(p sheets.Page, q geom.Point) bool {
	near := geom.BoxOf(q).Grow(3)
	for _, label := range p.Texts {
		if boxOf(label).Overlaps(near) {
			return true
		}
	}
	for _, j := range p.Joins {
		if j.Shape.Bounds().Overlaps(near) || boxOf(j.Label).Overlaps(near) {
			return true
		}
	}
	for _, piece := range m.l.Pieces {
		var others []geom.Path
		others = append(append(append(others, piece.Brackets...), piece.Arrows...), piece.Lengthen...)
		for _, line := range piece.Lines {
			others = append(others, line.Path)
		}
		for _, tick := range piece.Ticks {
			others = append(others, geom.Path{tick.Stroke})
		}
		for _, o := range others {
			if _, d, _ := o.Nearest(q); d < 3 {
				return true
			}
		}
	}
	return false
}
