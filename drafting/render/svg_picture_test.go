package render

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
)

// What librsvg shows of every garment in a window 800 pixels wide: cut lines
// black where they belong, cloth inside them and white outside.
func TestSVGForScreensByLibrsvg(t *testing.T) {
	t.Parallel()
	for _, g := range someGarments(t, 1) {
		_, file := rendered(t, g.Pattern, "svg", Options{For: ForScreens})
		out := read(t, "rsvg-convert", "-w", "800", "-b", "white", file)
		l, bounds, err := svgRow(t.Context(), g.Pattern, true)
		if err != nil {
			t.Fatal(err)
		}
		checkPicture(t, g.name, parsePNG(t, out, 800/bounds.Width()*25.4), l.Pieces, bounds.Min)
	}
}

// librsvg renders at 150 dpi, by the size that the file gives itself: the cut
// lines lie within 0.1 mm of where they belong, the test squares measure 50
// and 50.8 mm, and the two letterings leave their ink in the same places.
func TestSVGByLibrsvg(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	l, err := sheets.Row(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	origin := sheets.Bounds(l.Pieces).Union(l.Legend.Box).Grow(rowMargin).Min
	_, file := rendered(t, p, "svg", Options{})
	pic := rsvg(t, file, 150)
	var most float64
	probes := 0
	for _, piece := range l.Pieces {
		total := piece.CutLine.Length()
		for i := range 40 {
			at := total * (float64(i) + 0.31) / 40
			q, along := piece.CutLine.At(at), piece.CutLine.TangentAt(at)
			if !piece.CutLine.TangentAt(at-2).Near(piece.CutLine.TangentAt(at+2), 0.05) || crowded(piece, q) {
				continue
			}
			probes++
			off := pic.across(q.Sub(origin), along.Right())
			most = max(most, math.Abs(off))
			if math.Abs(off) > 0.1 {
				t.Errorf("%s: the cut line is %.3f mm off at %v", piece.Name, off, q)
			}
		}
	}
	if probes < 40 {
		t.Errorf("only %d places to look at", probes)
	}
	for i, side := range []float64{50, 50.8} {
		b := l.Legend.Squares[i].Move(origin.Neg())
		c := b.Centre()
		w := side + pic.across(geom.Pt(b.Max.X, c.Y), geom.Pt(1, 0)) - pic.across(geom.Pt(b.Min.X, c.Y), geom.Pt(1, 0))
		h := side + pic.across(geom.Pt(c.X, b.Max.Y), geom.Pt(0, 1)) - pic.across(geom.Pt(c.X, b.Min.Y), geom.Pt(0, 1))
		if math.Abs(w-side) > 0.1 || math.Abs(h-side) > 0.1 {
			t.Errorf("the square of %g mm measures %.3f × %.3f", side, w, h)
		}
	}
	t.Logf("%d places within %.3f mm", probes, most)
	for _, piece := range l.Pieces {
		for _, label := range piece.Texts {
			if dark := pic.darkIn(boxOf(label).Move(origin.Neg())); dark < 0.02 {
				t.Errorf("%q leaves ink on %.1f %% of its place", label.Lines, 100*dark)
			}
		}
	}
}

// crowded reports whether another line comes near a place of the cut line.
func crowded(p finish.Piece, q geom.Point) bool {
	for _, tick := range p.Ticks {
		if tick.Stroke.Bounds().Grow(2).Contains(q) {
			return true
		}
	}
	for i, e := range p.Edges {
		if e.Role == pattern.RoleFold || p.Allowances[i] == 0 {
			if _, d, _ := e.Path.Nearest(q); d < 2 { // a dashed line on top
				return true
			}
		}
	}
	for _, l := range p.Lines {
		if _, d, _ := l.Path.Nearest(q); d < 2 {
			return true
		}
	}
	return false
}

// rsvg renders a file at the size that it gives itself.
func rsvg(t *testing.T, file string, dpi float64) picture {
	t.Helper()
	d := fmt.Sprint(dpi)
	out := read(t, "rsvg-convert", "-d", d, "-p", d, "-b", "white", file)
	return parsePNG(t, out, dpi)
}

func parsePNG(t *testing.T, data []byte, dpi float64) picture {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	p := picture{w: b.Dx(), h: b.Dy(), dpi: dpi, pix: make([]byte, b.Dx()*b.Dy())}
	for y := range p.h {
		for x := range p.w {
			_, g, _, _ := img.At(x, y).RGBA()
			p.pix[y*p.w+x] = byte(g >> 8)
		}
	}
	return p
}

// across is how far from q, in mm along a direction, the dark line near it
// lies: the middle of its darkness.
func (p picture) across(q, direction geom.Point) float64 {
	var weight, moment float64
	for s := -1.0; s <= 1; s += 0.01 {
		v := q.Add(direction.Mul(s))
		dark := 255 - p.between(p.mm(v.X)-0.5, p.mm(v.Y)-0.5)
		weight += dark
		moment += dark * s
	}
	if weight < 255 {
		return math.Inf(1)
	}
	return moment / weight
}

// between is the tone at a place in pixels, between the middles of four.
func (p picture) between(x, y float64) float64 {
	i, j := int(math.Floor(x)), int(math.Floor(y))
	if i < 0 || j < 0 || i+1 >= p.w || j+1 >= p.h {
		return 255
	}
	u, v := x-float64(i), y-float64(j)
	top := (1-u)*float64(p.at(i, j)) + u*float64(p.at(i+1, j))
	bottom := (1-u)*float64(p.at(i, j+1)) + u*float64(p.at(i+1, j+1))
	return (1-v)*top + v*bottom
}

// darkIn is the share of dark pixels in a box in mm.
func (p picture) darkIn(b geom.Box) float64 {
	dark, all := 0, 0
	for y := int(p.mm(b.Min.Y)); y < int(p.mm(b.Max.Y)); y++ {
		for x := int(p.mm(b.Min.X)); x < int(p.mm(b.Max.X)); x++ {
			if all++; p.at(x, y) < 128 {
				dark++
			}
		}
	}
	return float64(dark) / float64(max(all, 1))
}
