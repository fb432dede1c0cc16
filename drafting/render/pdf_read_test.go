package render

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
)

// tracedStroke is a line that mutool reads out of a PDF, where it lies on the
// sheet.
type tracedStroke struct {
	page int // from 0
	geom.Path
}

// traced are the strokes of a document, page by page, as mutool's interpreter
// meets them.
func traced(t *testing.T, file string, l sheets.Layout) []tracedStroke {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(read(t, "mutool", "trace", file)))
	number := func(e xml.StartElement, name string) (v float64) {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				if _, err := fmt.Sscan(a.Value, &v); err != nil {
					t.Fatalf("%s %q", name, a.Value)
				}
			}
		}
		return v
	}
	var strokes []tracedStroke
	var m [6]float64
	var pen, start geom.Point
	page, stroking := -1, false
	at := func(e xml.StartElement, suffix string) geom.Point {
		x, y := number(e, "x"+suffix), number(e, "y"+suffix)
		onPage := geom.Pt(m[0]*x+m[2]*y+m[4], m[1]*x+m[3]*y+m[5]).Mul(25.4 / 72)
		return onPage.Sub(geom.Pt(l.Margin, l.Margin)).Add(l.Pages[page].Window.Min)
	}
	draw := func(s geom.Segment) {
		last := &strokes[len(strokes)-1]
		last.Path = append(last.Path, s)
		pen = s.P3
	}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strokes
		}
		if err != nil {
			t.Fatalf("mutool trace %s: %v", file, err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			switch name := e.Name.Local; {
			case name == "page":
				page++
			case name == "stroke_path":
				stroking = true
				for _, a := range e.Attr {
					if a.Name.Local == "transform" {
						if n, err := fmt.Sscan(a.Value, &m[0], &m[1], &m[2], &m[3], &m[4], &m[5]); n != 6 {
							t.Fatalf("transform %q: %v", a.Value, err)
						}
					}
				}
			case !stroking:
			case name == "moveto":
				pen = at(e, "")
				start = pen
				strokes = append(strokes, tracedStroke{page: page})
			case name == "lineto":
				draw(geom.Line(pen, at(e, "")))
			case name == "curveto":
				draw(geom.Cubic(pen, at(e, "1"), at(e, "2"), at(e, "3")))
			case name == "closepath":
				draw(geom.Line(pen, start))
			}
		case xml.EndElement:
			if e.Name.Local == "stroke_path" {
				stroking = false
			}
		}
	}
}

// strokesOf are the lines of one layer of a piece.
func strokesOf(p *finish.Piece, l Layer) (lines []geom.Path) {
	switch l {
	case drawing.LayerCut:
		lines = append(lines, p.CutLine)
	case drawing.LayerSeam:
		for i, e := range p.Edges {
			if p.Allowances[i] > 0 {
				lines = append(lines, e.Path)
			}
		}
		for _, d := range p.Darts {
			lines = append(lines, d.Legs[0], d.Legs[1])
		}
	case drawing.LayerInternal:
		for _, line := range p.Lines {
			lines = append(lines, line.Path)
			if finish.IsButtonhole(line) {
				s := line.Path[0]
				side := s.Tangent(0).Left().Mul(2)
				lines = append(lines, geom.Polyline(s.P0.Sub(side), s.P0.Add(side)), geom.Polyline(s.P3.Sub(side), s.P3.Add(side)))
			}
		}
	case drawing.LayerNotches:
		for _, k := range p.Ticks {
			lines = append(lines, geom.Path{k.Stroke})
		}
	case drawing.LayerGrain:
		if p.Grain.P0 != p.Grain.P3 {
			lines = append(lines, geom.Path{p.Grain})
		}
		lines = append(append(lines, p.Brackets...), p.Lengthen...)
	case drawing.LayerMarks:
		ring := func(at geom.Point, r float64) {
			const k = 0.5522847498
			for i := range 4 {
				arc := geom.Path{geom.Cubic(geom.Pt(r, 0), geom.Pt(r, k*r), geom.Pt(k*r, r), geom.Pt(0, r))}
				lines = append(lines, arc.Move(geom.Turn(geom.Point{}, float64(i)*math.Pi/2).Then(geom.Shift(at))))
			}
		}
		for _, d := range p.Drills {
			ring(d, 1.5)
		}
		for _, m := range p.Marks {
			if m.Kind == pattern.MarkBustPoint {
				ring(m.At, 4)
				for _, r := range []geom.Point{{X: 4}, {Y: 4}} {
					lines = append(lines, geom.Path{geom.Line(m.At.Sub(r), m.At.Add(r))})
				}
			}
		}
	}
	return lines
}

// Every layer of every garment as mutool reads it, on one sheet and on A4 (a
// sample, unless TAPELINE_WHOLE is set): each segment within 0.1 mm of where it
// belongs, none missing and none added, so that seams, areas, pieces and notches
// are those of the pattern; and every label as poppler reads it.
func TestPDFReadBack(t *testing.T) {
	t.Parallel()
	var most float64
	files, segments := 0, 0
	for i, g := range append([]garment{train(t)}, garments(t)...) {
		papers := []string{"full", "a4"}
		if i > 2 && !whole() {
			if i%2 == 1 {
				continue
			}
			papers = papers[:1]
		}
		for _, paper := range papers {
			o := on(t, paper)
			l, err := sheets.Plan(t.Context(), g.Pattern, o)
			if err != nil {
				t.Fatal(err)
			}
			samePieces(t, g.name+" on "+paper, l.Pieces, g.Pieces)
			lettered := layerFile(t, g.Pattern, o, drawing.LayerText)
			if paper == "full" {
				text := string(read(t, "pdftotext", "-raw", lettered, "-"))
				for k := range l.Pieces {
					for _, label := range l.Pieces[k].Texts {
						wantLines(t, text, label)
					}
				}
			}
			besides := traced(t, lettered, l)
			for _, layer := range drawing.Layers()[:6] {
				got := without(traced(t, layerFile(t, g.Pattern, o, layer), l), besides)
				var want []geom.Path
				for k := range l.Pieces {
					want = append(want, strokesOf(&l.Pieces[k], layer)...)
				}
				off := comparedStrokes(t, fmt.Sprintf("%s on %s, %s", g.name, paper, layer), got, want)
				most = max(most, off)
				files, segments = files+1, segments+len(got)
			}
		}
	}
	t.Logf("%d files, %d strokes: within %.4f mm", files, segments, most)
}

// train is a garment longer than a PDF page may be, which comes on several.
func train(t *testing.T) garment {
	t.Helper()
	p := torso(t, nil)
	long := geom.Polyline(geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(300, 6000), geom.Pt(0, 6000), geom.Pt(0, 0))
	p.Pieces = append(p.Pieces, finish.Piece{Piece: pattern.Piece{Name: "train", Title: "Train",
		Edges: []pattern.Edge{{Name: "all", Path: long}}}, Allowances: []float64{0}, CutLine: long})
	l, err := sheets.Plan(t.Context(), p, on(t, "full"))
	if err != nil || len(l.Pages) < 3 || l.PageHeight > sheets.MaxSide+1e-9 {
		t.Fatalf("%d pages of %.0f mm, %v", len(l.Pages), l.PageHeight, err)
	}
	return garment{"torso with a train", p}
}

// layerFile writes one layer of a pattern to a file that qpdf finds sound.
func layerFile(t *testing.T, p finish.Pattern, o sheets.Options, only Layer) string {
	t.Helper()
	var b bytes.Buffer
	if err := PDF(t.Context(), &b, p, o, only); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), string(only)+".pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if only == drawing.LayerCut {
		read(t, "qpdf", "--check", file)
	}
	return file
}

// samePieces checks that laying the pieces out only turns and moves them.
func samePieces(t *testing.T, name string, laid, drafted []finish.Piece) {
	t.Helper()
	if len(laid) != len(drafted) {
		t.Fatalf("%s: %d pieces of %d", name, len(laid), len(drafted))
	}
	for i := range laid {
		a, b := laid[i], drafted[i]
		if a.Name != b.Name || math.Abs(a.CutLine.Area()-b.CutLine.Area()) > 0.01 ||
			math.Abs(a.CutLine.Length()-b.CutLine.Length()) > 0.001 {
			t.Errorf("%s: %s is another piece", name, a.Name)
		}
		for k := range a.Edges {
			if math.Abs(a.Edges[k].Path.Length()-b.Edges[k].Path.Length()) > 0.001 {
				t.Errorf("%s: %s of %s is as long as another edge", name, a.Edges[k].Name, a.Name)
			}
		}
	}
}

// without returns the other lines drawn, each removed once.
func without(all, besides []tracedStroke) []tracedStroke {
	left := slices.Clone(besides)
	return slices.DeleteFunc(all, func(s tracedStroke) bool {
		i := slices.IndexFunc(left, func(b tracedStroke) bool { return b.page == s.page && slices.Equal(b.Path, s.Path) })
		if i >= 0 {
			left = slices.Delete(left, i, i+1)
		}
		return i >= 0
	})
}

// comparedStrokes holds strokes against the lines that they should make up, and
// says how far off the farthest is. A line comes a segment a stroke, or in more
// where the edge of a page cuts it.
func comparedStrokes(t *testing.T, name string, got []tracedStroke, want []geom.Path) (most float64) {
	t.Helper()
	var have, should float64
	pages := make(map[int]bool)
	for _, s := range got {
		pages[s.page] = true
		have += s.Length()
		worst := 0.0
		for k := range 9 {
			q := s.Path.At(s.Length() * float64(k) / 8)
			worst = max(worst, nearestOf(want, q))
		}
		most = max(most, worst)
		if worst > 0.1 {
			t.Errorf("%s: a stroke at %v is %.3f mm off", name, s.Start(), worst)
		}
	}
	for _, path := range want {
		should += path.Length()
	}
	if math.Abs(have-should) > 0.05+0.005*float64(len(got)) {
		t.Errorf("%s: strokes of %.2f mm, want %.2f", name, have, should)
	}
	if len(pages) > 1 {
		return most
	}
	left := slices.Clone(got)
	for _, path := range want {
		for _, s := range path {
			i := slices.IndexFunc(left, func(g tracedStroke) bool {
				return g.Start().Near(s.P0, 0.02) && g.End().Near(s.P3, 0.02) && apart(g.Path, geom.Path{s}) < 0.1
			})
			if i < 0 {
				if s.Length() > 0.01 {
					t.Errorf("%s: no stroke from %v to %v", name, s.P0, s.P3)
				}
				continue
			}
			left = slices.Delete(left, i, i+1)
		}
	}
	if len(left) > 0 {
		t.Errorf("%s: %d strokes that belong to nothing, the first at %v", name, len(left), left[0].Start())
	}
	return most
}

// nearestOf is how far the nearest of some lines is.
func nearestOf(lines []geom.Path, q geom.Point) float64 {
	nearest := math.Inf(1)
	for _, line := range lines {
		if !line.Bounds().Grow(1).Contains(q) {
			continue
		}
		_, d, _ := line.Nearest(q)
		nearest = min(nearest, d)
	}
	return nearest
}
