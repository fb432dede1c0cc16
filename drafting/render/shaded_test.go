package render

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"tapeline/drafting/drawing"
	"tapeline/drafting/geom"
)

// TestShadedAgree draws two triangles as PNG, and as PDF and SVG that poppler and librsvg
// read: each is where the others have it.
func TestShadedAgree(t *testing.T) {
	t.Parallel()
	p := drawing.Shaded{Title: "Two triangles", Width: 200, Height: 100, Facets: []drawing.Facet{
		{At: [3]geom.Point{{X: 20, Y: 10}, {X: 60, Y: 10}, {X: 20, Y: 80}}, Color: [3]uint8{200, 0, 0}},
		{At: [3]geom.Point{{X: 120, Y: 50}, {X: 190, Y: 90}, {X: 110, Y: 90}}, Color: [3]uint8{0, 0, 200}},
	}}
	const wide = 800
	var own, pdf, svg bytes.Buffer
	for _, err := range []error{ShadedPNG(t.Context(), &own, p, wide), ShadedPDF(t.Context(), &pdf, p),
		ShadedSVG(t.Context(), &svg, p)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	want := inks(t, own.Bytes())
	dir := t.TempDir()
	file := save(t, pdf.Bytes())
	read(t, "pdftoppm", "-png", "-singlefile", "-scale-to-x", "800", "-scale-to-y", "400", file, filepath.Join(dir, "pdf"))
	file = save(t, svg.Bytes())
	read(t, "rsvg-convert", "-w", "800", "-o", filepath.Join(dir, "svg.png"), file)
	for _, kind := range []string{"pdf", "svg"} {
		data, err := os.ReadFile(filepath.Join(dir, kind+".png"))
		if err != nil {
			t.Fatal(err)
		}
		got := inks(t, data)
		for i := range want {
			for k := range want[i] {
				if math.Abs(float64(got[i][k]-want[i][k])) > 4 { // pixels; PNG facets are grown by half of one
					t.Errorf("%s: colour %d lies in %v, want %v", kind, i, got[i], want[i])
					break
				}
			}
		}
	}
}

// inks returns the bounds of what is red and of what is blue in a picture.
func inks(t *testing.T, data []byte) [2][4]int {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	var all [2]image.Rectangle
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, _, b, _ := img.At(x, y).RGBA()
			for i, ink := range []bool{r > 2*b, b > 2*r} {
				if ink {
					all[i] = all[i].Union(image.Rect(x, y, x+1, y+1))
				}
			}
		}
	}
	var out [2][4]int
	for i, r := range all {
		out[i] = [4]int{r.Min.X, r.Min.Y, r.Max.X, r.Max.Y}
	}
	return out
}
