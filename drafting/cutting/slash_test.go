package cutting_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

// A slash adds exactly what was asked to both edges, and nothing to the others.
func TestOpen(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ by, hinge float64 }{{30, 0}, {0, 30}, {25, 25}, {40, 10}, {10, 40}, {1e-3, 0}} {
		p, err := cutting.Open(square(), cutting.Position{Run: "hem", At: 60}, cutting.Position{Run: "top", At: 120}, tt.by,
			tt.hinge)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "hem", p.RunLength("hem"), 200+tt.by, 1e-9)
		near(t, "top", p.RunLength("top"), 200+tt.hinge, 1e-9)
		near(t, "side", p.RunLength("side"), 300, 1e-9)
		near(t, "fold", p.RunLength("fold"), 300, 1e-9)
		sound(t, p)
		if p.Edges[0].Path.Start() != (geom.Point{}) {
			e, _ := p.Edge("fold")
			if e.Path.End() != (geom.Point{}) {
				t.Errorf("the part with the fold moved")
			}
		}
		// The notch and the mark went with the side.
		if n := len(p.Notches); n != 1 {
			t.Fatalf("%d notches", n)
		}
		near(t, "notch", p.Notches[0].At, 100, 1e-6)
		side, _ := p.Edge("side")
		near(t, "mark from the side", side.Path.Start().Dist(p.Marks[0].At), geom.Pt(200, 0).Dist(geom.Pt(150, 50)), 1e-9)
	}
}

// On real pieces, at random places: what opens is what was asked.
func TestOpenAnywhere(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 2))
	for _, figure := range figures {
		pieces := blockPieces(t, figure, nil)
		for _, name := range []string{"back", "front"} {
			p := pieces[name]
			for _, d := range p.Darts {
				var err error
				if p, err = cutting.Undart(p, d.Name, 0); err != nil {
					t.Fatal(err)
				}
			}
			before := runLengths(p)
			for range 40 {
				a, b := rng.Float64()*before["hem"], rng.Float64()*before["shoulder"]
				by, hinge := 60*rng.Float64(), 60*rng.Float64()
				q, err := cutting.Open(p, cutting.Position{Run: "hem", At: a}, cutting.Position{Run: "shoulder", At: b}, by, hinge)
				if err != nil {
					t.Fatal(err)
				}
				for run, n := range runLengths(q) {
					want := before[run]
					switch run {
					case "hem":
						want += by
					case "shoulder":
						want += hinge
					}
					near(t, name+" "+run, n, want, 1e-5)
				}
			}
		}
	}
}

func TestSpread(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1, 3, 12} {
		p, err := cutting.Spread(square(), "hem", "top", n, 120, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "hem", p.RunLength("hem"), 320, 1e-6)
		near(t, "top", p.RunLength("top"), 200, 1e-6)
		sound(t, p)
		p, err = cutting.Spread(square(), "hem", "top", n, 120, 120)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "hem, parallel", p.RunLength("hem"), 320, 1e-6)
		near(t, "top, parallel", p.RunLength("top"), 320, 1e-6)
		near(t, "area, parallel", p.Outline().Area(), 300*320, 1e-3)
	}
	_, err := cutting.Spread(square(), "hem", "top", 0, 10, 0)
	wantError(t, err, "square", "hem")
	_, err = cutting.Open(square(), cutting.Position{Run: "hem", At: 50}, cutting.Position{Run: "top", At: 50}, -5, 0)
	wantError(t, err, "square", "hem")
}

func TestLengthen(t *testing.T) {
	t.Parallel()
	p, err := cutting.Lengthen(square(), geom.Pt(0, 200), 50)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "side", p.RunLength("side"), 350, 1e-9)
	near(t, "fold", p.RunLength("fold"), 350, 1e-9)
	near(t, "hem", p.RunLength("hem"), 200, 1e-9)
	sound(t, p)
	_, err = cutting.Lengthen(square(), geom.Pt(0, 900), 50)
	wantError(t, err, "square", "")
}

// A flare moves the hem's corner out by what was asked, square to the side,
// which keeps its length, and the hem leaves square to it.
func TestFlare(t *testing.T) {
	t.Parallel()
	for _, by := range []float64{-20, 15, 60, 140} {
		p, err := cutting.Flare(square(), "side", "hem", by, 120)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "side", p.RunLength("side"), 300, 1e-6)
		near(t, "out at the hem", p.Run("side").End().X, 200+by, 0.35*by*by/180+1e-9)
		side, hem := p.Run("side"), p.Run("hem")
		near(t, "square at the hem", side.EndTangent().Dot(hem.StartTangent()), 0, 1e-9)
		if n := len(p.Notches); n != 1 || p.Notches[0].At != 100 {
			t.Errorf("notches %v", p.Notches)
		}
		sound(t, p)
	}
	_, err := cutting.Flare(square(), "top", "hem", 10, 20)
	wantError(t, err, "square", "top")
	_, err = cutting.Flare(square(), "side", "hem", 10, 299)
	wantError(t, err, "square", "side")
}

// A slash across a dart names itself and the dart.
func TestOpenAcrossADart(t *testing.T) {
	t.Parallel()
	p, err := cutting.AddDart(square(), "waist_dart", cutting.Position{Run: "side", At: 150}, 20, geom.Pt(60, 150))
	if err != nil {
		t.Fatal(err)
	}
	_, err = cutting.Open(p, cutting.Position{Run: "hem", At: 100}, cutting.Position{Run: "top", At: 100}, 20, 20)
	if err == nil || !strings.Contains(err.Error(), "the slash from the hem to the top crosses the waist_dart") {
		t.Errorf("a slash across a dart: %v", err)
	}
}
