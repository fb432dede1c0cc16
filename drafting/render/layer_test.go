package render

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/sheets"
)

// onlyLayers writes some layers of a pattern to a file.
func onlyLayers(t *testing.T, p finish.Pattern, o sheets.Options, only ...Layer) string {
	t.Helper()
	var b bytes.Buffer
	if err := PDF(t.Context(), &b, p, o, only...); err != nil {
		t.Fatal(err)
	}
	return save(t, b.Bytes())
}

// Each layer has ink that no other layer has, laid on each other they are the
// whole sheet, and all of them named are the file with none named.
func TestPDFLayers(t *testing.T) {
	t.Parallel()
	const dpi = 60
	p, o := torso(t, nil), on(t, "full")
	whole := rasterize(t, write(t, p, o), 1, dpi, 0, 0, 0, 0)
	sum := make([]byte, len(whole.pix)) // the darkest of any layer
	seen := make([]int, len(whole.pix)) // how many layers are dark there
	for i := range sum {
		sum[i] = 255
	}
	var pics []picture
	ofPieces := drawing.Layers()[:7]
	for _, l := range ofPieces {
		file := onlyLayers(t, p, o, l)
		read(t, "qpdf", "--check", file)
		pic := rasterize(t, file, 1, dpi, 0, 0, 0, 0)
		if pic.w != whole.w || pic.h != whole.h {
			t.Fatalf("%s: a sheet of %d × %d pixels, want %d × %d", l, pic.w, pic.h, whole.w, whole.h)
		}
		for i, v := range pic.pix {
			sum[i] = min(sum[i], v)
			if v < 128 {
				seen[i]++
			}
		}
		pics = append(pics, pic)
	}
	for k, l := range ofPieces {
		own := 0
		for i, v := range pics[k].pix {
			if v < 128 && seen[i] == 1 {
				own++
			}
		}
		if own < 20 {
			t.Errorf("%s: %d pixels of its own", l, own)
		}
	}
	lost, added := 0, 0
	for i, v := range whole.pix {
		switch {
		case v < 100 && sum[i] > 200:
			lost++
		case v > 200 && sum[i] < 100:
			added++
		}
	}
	if lost+added > 0 {
		t.Errorf("%d pixels lost and %d added", lost, added)
	}
	var all, none bytes.Buffer
	if err := PDF(t.Context(), &all, p, o, ofPieces...); err != nil {
		t.Fatal(err)
	}
	if err := PDF(t.Context(), &none, p, o); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(all.Bytes(), none.Bytes()) {
		t.Error("all layers named are not what none named gives")
	}
}

// The grid is squares of 50 mm that run on over the pages of a tiled sheet, and
// is not there where it is not named.
func TestPDFGrid(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, paper := range []string{"full", "a4"} {
		o := on(t, paper)
		l, err := sheets.Plan(t.Context(), p, o)
		if err != nil {
			t.Fatal(err)
		}
		besides := traced(t, layerFile(t, p, o, drawing.LayerText), l)
		lines := without(traced(t, layerFile(t, p, o, drawing.LayerGrid), l), besides)
		for _, s := range lines {
			a, b := s.Start(), s.End()
			off := func(v float64) float64 { return math.Abs(v - 50*math.Round(v/50)) }
			if upright := math.Abs(a.X-b.X) < 0.01; upright && off(a.X) > 0.01 ||
				!upright && (off(a.Y) > 0.01 || math.Abs(a.Y-b.Y) > 0.01) {
				t.Errorf("%s: a line of the grid from %v to %v", paper, a, b)
			}
		}
		want := 0
		for _, page := range l.Pages {
			if w := page.Window; !page.Cover {
				want += int(math.Ceil(w.Max.X/50)-math.Ceil(w.Min.X/50)) + int(math.Ceil(w.Max.Y/50)-math.Ceil(w.Min.Y/50))
			}
		}
		if len(lines) != want {
			t.Errorf("%s: %d lines, want %d", paper, len(lines), want)
		}
	}
}

// A layer alone says nothing that it is not asked for, on cut paper too.
func TestPDFLayerText(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, paper := range []string{"a4", "full"} {
		without := string(read(t, "pdftotext", "-raw", onlyLayers(t, p, on(t, paper), drawing.LayerCut, drawing.LayerSeam),
			"-"))
		with := string(read(t, "pdftotext", "-raw", onlyLayers(t, p, on(t, paper), drawing.LayerText), "-"))
		for _, piece := range p.Pieces {
			if says := piece.Title + "\n"; strings.Contains(without, says) || !strings.Contains(with, says) {
				t.Errorf("%s: %q in the text %v, beside it %v", paper, piece.Title, strings.Contains(with, says),
					strings.Contains(without, says))
			}
		}
		if !strings.Contains(without, "50 mm") {
			t.Errorf("%s: no test square", paper)
		}
	}
}

// The rolls that plotters take: as wide as the roll, as long as the pattern
// needs, one page.
func TestPDFOnRolls(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, width := range []float64{610, 762, 914, 1067} {
		file := write(t, p, on(t, fmt.Sprintf("roll-%g", width)))
		read(t, "qpdf", "--check", file)
		info := string(read(t, "pdfinfo", file))
		var w, h float64
		for line := range strings.Lines(info) {
			_, _ = fmt.Sscanf(line, "Page size: %g x %g pts", &w, &h)
		}
		w, h = w*25.4/72, h*25.4/72
		if !strings.Contains(info, "Pages:           1\n") || w < width-0.01 || w > width+0.01 || h < 300 || h > 3000 {
			t.Errorf("roll of %g mm: %.2f × %.2f mm\n%s", width, w, h, info)
		}
		t.Logf("%g mm wide: %.0f mm long", width, h)
	}
}
