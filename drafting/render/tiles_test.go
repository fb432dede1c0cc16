package render

import (
	"testing"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/making"
	"tapeline/drafting/sheets"
)

// The pages laid edge to edge bear the same ink as the sheet in one piece, and
// each of them bears some.
func TestTilesMakeUpTheSheet(t *testing.T) {
	t.Parallel()
	big := torso(t, nil).Lettered()
	for i := range big.Pieces { // a label larger than any page, which edges must cut
		b := big.Pieces[i].Bounds()
		big.Pieces[i].Texts = append(big.Pieces[i].Texts, finish.Text{
			At: geom.Pt(b.Min.X+60, b.Centre().Y), Size: 40, Angle: 0.1, Lines: []string{"Больше", "Ωmega"},
		})
	}
	for _, c := range []struct {
		name, paper string
		overlap     float64
		pattern     finish.Pattern
	}{
		{"a4", "a4", 0, torso(t, nil)},
		{"letter overlapping", "letter", 15, torso(t, nil)},
		{"a3 with labels across edges", "a3", 0, big},
		{"a4 with labels across edges", "a4", 0, big},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			o := on(t, c.paper)
			o.Overlap = c.overlap
			l, err := sheets.Plan(t.Context(), c.pattern, o)
			if err != nil {
				t.Fatal(err)
			}
			compareSheets(t, bare(l))
		})
	}
}

// bare is the layout with nothing on it but the pieces.
func bare(l sheets.Layout) sheets.Layout {
	l.Legend = sheets.Legend{}
	var pages []sheets.Page
	for _, p := range l.Pages {
		if !p.Cover {
			pages = append(pages, sheets.Page{Window: p.Window})
		}
	}
	l.Pages = pages
	return l
}

const sheetDPI = 150

func compareSheets(t *testing.T, l sheets.Layout) {
	all := geom.EmptyBox()
	for _, p := range l.Pages {
		all = all.Union(p.Window)
	}
	whole := l
	whole.Pages = []sheets.Page{{Window: all}}
	whole.PageWidth, whole.PageHeight = all.Width()+2*l.Margin, all.Height()+2*l.Margin
	want := renderAll(t, whole)
	got := renderAll(t, l)
	edges := edgeZones(l)
	for name, d := range map[string][2][]sheet{"lost": {want, got}, "added": {got, want}} {
		missing := 0
		for _, s := range d[0] {
			s.each(func(q geom.Point) {
				if !edges(q) && !anyDark(d[1], q) {
					if missing++; missing < 4 {
						t.Errorf("ink %s at %v", name, q)
					}
				}
			})
		}
		if missing > 0 {
			t.Errorf("%d pixels of ink %s", missing, name)
		}
	}
	for i, s := range got {
		dark := 0
		s.each(func(q geom.Point) {
			if !edges(q) {
				dark++
			}
		})
		if dark == 0 {
			t.Errorf("page %d is blank", i+1)
		}
	}
}

// sheet is a page as rendered, with the window that it shows.
type sheet struct {
	picture
	window geom.Box
	margin float64
}

// renderAll renders all pages of a layout.
func renderAll(t *testing.T, l sheets.Layout) []sheet {
	doc, err := pdf(t.Context(), l, making.Sheet{}, drawing.Pieces(l.Pieces), false)
	if err != nil {
		t.Fatal(err)
	}
	file := save(t, doc.Bytes())
	sheets := make([]sheet, len(l.Pages))
	for i, p := range l.Pages {
		sheets[i] = sheet{rasterize(t, file, i+1, sheetDPI, 0, 0, 0, 0), p.Window, l.Margin}
	}
	return sheets
}

// each calls f with every dark pixel in the window, where it lies on the sheet.
func (s sheet) each(f func(q geom.Point)) {
	for y := range s.h {
		for x := range s.w {
			if s.at(x, y) < 110 {
				q := geom.Pt(float64(x)+0.5, float64(y)+0.5).Mul(25.4 / s.dpi)
				if q = q.Sub(geom.Pt(s.margin, s.margin)).Add(s.window.Min); s.window.Contains(q) {
					f(q)
				}
			}
		}
	}
}

// anyDark reports whether a sheet that shows q is dark within two pixels and a
// half of it: the rasterizer rounds the ends of a dash by up to two.
func anyDark(sheets []sheet, q geom.Point) bool {
	for _, s := range sheets {
		if !s.window.Contains(q) {
			continue
		}
		v := q.Sub(s.window.Min).Add(geom.Pt(s.margin, s.margin))
		cx, cy := int(s.mm(v.X)), int(s.mm(v.Y))
		for y := max(cy-2, 0); y <= min(cy+2, s.h-1); y++ {
			for x := max(cx-2, 0); x <= min(cx+2, s.w-1); x++ {
				if s.at(x, y) < 200 {
					return true
				}
			}
		}
	}
	return false
}

// edgeZones tells points within 0.6 mm of a window's side, where the frames are.
func edgeZones(l sheets.Layout) func(geom.Point) bool {
	return func(q geom.Point) bool {
		for _, p := range l.Pages {
			if p.Window.Grow(0.6).Contains(q) && !p.Window.Grow(-0.6).Contains(q) {
				return true
			}
		}
		return false
	}
}

// No page of any paper has ink in its margins.
func TestNoInkInMargins(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, name := range allPapers() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o := on(t, name)
			o.Margin += 2 // not the default, nor whole pixels
			l, err := sheets.Plan(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			file := write(t, p, o)
			for i := range l.Pages {
				checkMargins(t, rasterize(t, file, i+1, 100, 0, 0, 0, 0), i+1, l.Margin)
			}
		})
	}
}

func checkMargins(t *testing.T, pic picture, page int, margin float64) {
	in := int(pic.mm(margin)) - 1 // the frame's own pixel may reach over by one
	for y := range pic.h {
		for x := range pic.w {
			if x < in || y < in || x >= pic.w-in || y >= pic.h-in {
				if pic.at(x, y) != 255 {
					t.Fatalf("page %d: ink in the margin at pixel (%d, %d) of %d × %d", page, x, y, pic.w, pic.h)
				}
			}
		}
	}
}
