package cutting_test

import (
	"errors"
	"math"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func pocketOf(t *testing.T) pattern.Piece {
	t.Helper()
	pocket, err := cutting.PatchPocket("pocket", "Pocket", 100, 120, 0)
	if err != nil {
		t.Fatal(err)
	}
	return pocket
}

// A pocket is drawn where it is sewn on, upright or along an edge; its drill holes lie 3 mm inside its
// upper corners.
func TestPlacePocket(t *testing.T) {
	t.Parallel()
	slope := geom.Polyline(geom.Pt(0, 0), geom.Pt(100, 10)) // of a waist, 1 in 10
	for _, c := range []struct {
		name         string
		along        geom.Path
		right, lower geom.Point
	}{
		{"upright", nil, geom.Pt(120, 100), geom.Pt(20, 220)},
		{"its top along a waist", slope, geom.Pt(20, 100).Add(geom.Pt(10, 1).Unit().Mul(100)),
			geom.Pt(20, 100).Add(geom.Pt(-1, 10).Unit().Mul(120))},
		{"its side along a side", geom.Polyline(geom.Pt(0, 0), geom.Pt(-10, 100)),
			geom.Pt(20, 100).Add(geom.Pt(10, 1).Unit().Mul(100)), geom.Pt(20, 100).Add(geom.Pt(-1, 10).Unit().Mul(120))},
	} {
		p, err := cutting.PlacePocket(square(), pocketOf(t), geom.Pt(20, 100), c.along)
		if err != nil {
			t.Fatal(err)
		}
		drawn := p.Lines[len(p.Lines)-1].Path
		if !drawn[0].P3.Near(c.right, 1e-9) || !drawn[len(drawn)-1].P0.Near(c.lower, 1e-9) {
			t.Errorf("%s: the pocket has corners at %v and %v, want %v and %v", c.name, drawn[0].P3, drawn[len(drawn)-1].P0,
				c.right, c.lower)
		}
		for i, corner := range [2]geom.Point{geom.Pt(20, 100), c.right} {
			m := p.Marks[len(p.Marks)-2+i]
			if !drawn.Contains(m.At) || math.Abs(m.At.Dist(corner)-3*math.Sqrt2) > 1e-9 {
				t.Errorf("%s: a drill hole at %v; want it 3 mm inside %v", c.name, m.At, corner)
			}
		}
	}
}

// A pocket off its piece has no room. One over a dart's end shows its top alone, and a dart through
// its top refuses it.
func TestPlacePocketWhereItCannot(t *testing.T) {
	t.Parallel()
	var room *cutting.RoomError
	if _, err := cutting.PlacePocket(square(), pocketOf(t), geom.Pt(120, 100), nil); !errors.As(err, &room) ||
		room.Reason != "The pocket lies up to 20 mm outside the square." {
		t.Errorf("20 mm off its piece: %v", err)
	}
	dart := func(edge string, at float64, to geom.Point) pattern.Piece {
		p, err := cutting.AddDart(square(), "waist_dart", cutting.Position{Run: edge, At: at}, 20, to)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	p, err := cutting.PlacePocket(dart("side", 180, geom.Pt(100, 180)), pocketOf(t), geom.Pt(20, 100), nil)
	if err != nil {
		t.Fatal(err)
	}
	if drawn := p.Lines[len(p.Lines)-1].Path; math.Abs(drawn.Length()-100) > 1e-9 {
		t.Errorf("over a dart %.1f mm are drawn, want its top of 100", drawn.Length())
	}
	_, err = cutting.PlacePocket(dart("top", 70, geom.Pt(70, 140)), pocketOf(t), geom.Pt(20, 100), nil)
	if !errors.As(err, &room) {
		t.Errorf("a dart through its top: %v", err)
	}
}

// Both pieces are notched at the ends of a pocket in the side, and not beside them.
func TestSetSeamPocket(t *testing.T) {
	t.Parallel()
	front := square()
	front.Notches = []pattern.Notch{{Edge: "side", At: 60}, {Edge: "side", At: 280}}
	s := cutting.SeamPocket{Run: "side", At: 50, Opening: 130, Width: 150, Depth: 100}
	f, b, bag, err := cutting.SetSeamPocket(front, square(), "bag", "Bag", s)
	if err != nil {
		t.Fatal(err)
	}
	if got := bag.RunLength("opening"); math.Abs(got-130) > 1e-9 {
		t.Errorf("the bag's opening is %.1f mm long, want 130", got)
	}
	for _, c := range []struct {
		p    pattern.Piece
		want []float64
	}{{f, []float64{280, 50, 180}}, {b, []float64{100, 50, 180}}} {
		for i, n := range c.p.Notches {
			if len(c.p.Notches) != len(c.want) || n.At != c.want[i] {
				t.Errorf("notches %v; want them at %v", c.p.Notches, c.want)
			}
		}
	}
	s.Depth = 120
	var room *cutting.RoomError
	if _, _, _, err := cutting.SetSeamPocket(front, square(), "bag", "Bag", s); !errors.As(err, &room) ||
		room.Reason != "The bag reaches 300 mm down the side of the square, which is 300 mm long." {
		t.Errorf("a bag as far as the hem: %v", err)
	}
}

// What a slanted pocket takes off the front its under layer puts back: waist and side keep their
// length, and both layers fit each other.
func TestCutSlantPocket(t *testing.T) {
	t.Parallel()
	p := square()
	p, err := cutting.AddDart(p, "waist_dart", cutting.Position{Run: "top", At: 80}, 20, geom.Pt(80, 100))
	if err != nil {
		t.Fatal(err)
	}
	s := cutting.SlantPocket{Waist: "top", Side: "side", Across: 38, Opening: 150, Bag: 100}
	front, bag, err := cutting.CutSlantPocket(p, "pocket", "Pocket", s)
	if err != nil {
		t.Fatal(err)
	}
	under, upper := bag[0], bag[1]
	for what, pair := range map[string][2]float64{
		"waist": {front.RunLength("top") + under.RunLength("waist_out"), p.RunLength("top")},
		"side":  {front.RunLength("side") + under.RunLength("side_top"), p.RunLength("side")},
		"slant": {front.RunLength("slant"), upper.RunLength("slant")},
		"bag":   {under.RunLength("bag"), upper.RunLength("bag")},
		"below": {under.RunLength("side_low"), upper.RunLength("side")},
	} {
		if math.Abs(pair[0]-pair[1]) > 1e-6 {
			t.Errorf("%s: %.4f and %.4f mm", what, pair[0], pair[1])
		}
	}
	var room *cutting.RoomError
	narrow, err := cutting.AddDart(square(), "waist_dart", cutting.Position{Run: "top", At: 175}, 20, geom.Pt(175, 100))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := cutting.CutSlantPocket(narrow, "pocket", "Pocket", s); !errors.As(err, &room) {
		t.Errorf("a dart beside the side: %v", err)
	}
	s.Opening = 250
	if _, _, err := cutting.CutSlantPocket(p, "pocket", "Pocket", s); !errors.As(err, &room) {
		t.Errorf("an opening down to the hem: %v", err)
	}
}
