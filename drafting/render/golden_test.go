package render

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var update = flag.Bool("update", false, "write the golden files again")

// apron is a small pattern of our own that has everything a format writes: a
// half on the fold with a dart, and a tie in a pair.
func apron(t testing.TB) finish.Pattern {
	t.Helper()
	edge := func(name string, role pattern.Role, s ...geom.Segment) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: s}
	}
	ln := func(x0, y0, x1, y1 float64) geom.Segment { return geom.Line(geom.Pt(x0, y0), geom.Pt(x1, y1)) }
	apex := geom.Pt(70, 150)
	bib := pattern.Piece{
		Name: "bib", Title: "Bib", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{
			edge("neckline", pattern.RoleNeckline, geom.Cubic(geom.Pt(0, 20), geom.Pt(25, 20), geom.Pt(45, 10), geom.Pt(60, 0))),
			edge("strap", pattern.RoleSeam, ln(60, 0, 90, 0)),
			edge("armhole", pattern.RoleArmhole, geom.Cubic(geom.Pt(90, 0), geom.Pt(95, 60), geom.Pt(110, 90),
				geom.Pt(150, 110))),
			edge("side_1", pattern.RoleSeam, ln(150, 110, 150, 140)),
			edge("side_dart", pattern.RoleDartMouth, ln(150, 140, 150, 160)),
			edge("side_2", pattern.RoleSeam, ln(150, 160, 150, 240)),
			edge("hem", pattern.RoleHem, ln(150, 240, 0, 240)),
			edge("centre_front", pattern.RoleFold, ln(0, 240, 0, 20)),
		},
		Darts: []pattern.Dart{{
			Name: "side dart", Mouth: "side_dart", Apexes: []geom.Point{apex},
			Legs: [2]geom.Path{{geom.Line(geom.Pt(150, 140), apex)}, {geom.Line(geom.Pt(150, 160), apex)}},
		}},
		Notches: []pattern.Notch{{Edge: "armhole", At: 60, Kind: pattern.NotchDouble},
			{Edge: "side_2", At: 40, Kind: pattern.NotchSingle}},
		Marks: []pattern.Mark{{Name: "bust_point", Kind: pattern.MarkBustPoint, At: geom.Pt(55, 150)}},
		Lines: []pattern.Line{{Name: "waist", Path: geom.Path{ln(0, 200, 150, 200)}}},
		Grain: ln(25, 60, 25, 190),
	}
	tie := pattern.Piece{
		Name: "tie", Title: "Tie", Cut: pattern.Cut{Count: 2, Pair: true}, Grain: ln(20, 20, 20, 120),
		Edges: []pattern.Edge{
			edge("end", pattern.RoleSeam, ln(0, 0, 40, 0)), edge("right", pattern.RoleSeam, ln(40, 0, 40, 140)),
			edge("tip", pattern.RoleSeam, ln(40, 140, 0, 160)), edge("left", pattern.RoleSeam, ln(0, 160, 0, 0)),
		},
	}
	p, err := finish.Finish(t.Context(), pattern.Pattern{Pieces: []pattern.Piece{bib, tie}},
		finish.Rules{Allowances: map[string]float64{"strap": 0}})
	p.Style, p.Label = "Apron", finish.Label{Reference: "GOLD-1", Date: "2026-02-03", Revision: 2}
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The files of testdata were looked at when they were written.
func TestGolden(t *testing.T) {
	t.Parallel()
	p := apron(t)
	for file, c := range map[string]struct {
		format string
		o      Options
	}{
		"apron.svg":          {"svg", Options{}},
		"apron-screens.svg":  {"svg", Options{For: ForScreens, Text: TextLetters}},
		"apron.dxf":          {"dxf", Options{}},
		"apron-unfolded.dxf": {"dxf", Options{Folds: FoldsUnfolded, Unit: English}},
		"apron.png":          {"png", Options{Width: 480}},
	} {
		got, _ := rendered(t, p, c.format, c.o)
		file = "testdata/" + file
		if *update {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if c.format == "png" && !bytes.Equal(got, want) {
			samePicture(t, file, got, want)
		} else if !bytes.Equal(got, want) {
			t.Errorf("%s: other bytes; if they are right, look at them and run with -update", file)
		}
	}
}

// samePicture allows for another compressor and for a tone of 16 where another
// machine rounds another way.
func samePicture(t *testing.T, file string, got, want []byte) {
	t.Helper()
	for _, data := range [][]byte{got, want} {
		if _, err := png.Decode(bytes.NewReader(data)); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
	}
	a, b := parsePNG(t, got, 1), parsePNG(t, want, 1)
	if a.w != b.w || a.h != b.h {
		t.Fatalf("%s: %d × %d pixels, want %d × %d", file, a.w, a.h, b.w, b.h)
	}
	for i := range a.pix {
		if d := int(a.pix[i]) - int(b.pix[i]); d > 17 || d < -17 {
			t.Fatalf("%s: pixel (%d, %d) is %d, want %d", file, i%a.w, i/a.w, a.pix[i], b.pix[i])
		}
	}
}
