package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

// A grown-on sleeve is as long and as wide as asked for, its overarm goes on along the
// shoulder, its end is square to overarm and underarm, the underarm is smooth, and both
// sides are equally long.
func TestGrowSleeves(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		pieces := blockPieces(t, figure, shoulderEased)
		front, err := cutting.Undart(pieces["front"], "bust_dart", 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []cutting.GrownSleeve{
			{Length: 580, Width: 320, Underarm: 60}, {Length: 420, Width: 360, Underarm: 0},
			{Length: 600, Width: 280, Underarm: 120},
		} {
			f, b, err := cutting.GrowSleeves(front, pieces["back"], s)
			if err != nil {
				t.Fatalf("figure %d, %+v: %v", i, s, err)
			}
			sound(t, f)
			sound(t, b)
			near(t, "sides", f.RunLength("side"), b.RunLength("side"), 1e-3)
			near(t, "overarms", f.RunLength("overarm")-front.RunLength("shoulder"),
				b.RunLength("overarm")-pieces["back"].RunLength("shoulder"), 1)
			near(t, "width", f.RunLength("sleeve_hem")+b.RunLength("sleeve_hem"), s.Width, 1e-6)
			near(t, "on along the shoulder", geom.AngleBetween(b.Run("overarm").StartTangent(),
				pieces["back"].Run("shoulder").StartTangent()), 0, 0.05)
			for _, p := range []geom.Path{f.Run("side"), b.Run("side")} {
				if turn := sharpest(p[:3]); turn > 0.02 {
					t.Errorf("figure %d, %+v: the underarm turns by %.2f", i, s, turn)
				}
			}
			near(t, "square to the underarm", math.Abs(geom.AngleBetween(b.Run("sleeve_hem").EndTangent(),
				b.Run("side").StartTangent())), math.Pi/2, 0.01)
		}
		_, _, err = cutting.GrowSleeves(front, pieces["back"], cutting.GrownSleeve{Length: 100, Width: 300})
		if err == nil || !strings.Contains(err.Error(), "make the sleeve longer") {
			t.Errorf("a sleeve of 10 cm: %v", err)
		}
		_, _, err = cutting.GrowSleeves(pieces["front"], pieces["back"], cutting.GrownSleeve{Length: 500, Width: 300})
		if err == nil || !strings.Contains(err.Error(), "dart") {
			t.Errorf("over a dart: %v", err)
		}
	}
}

// sharpest returns the largest turn between the strokes of a path, radians.
func sharpest(p geom.Path) float64 {
	most := 0.0
	for i := 1; i < len(p); i++ {
		most = max(most, math.Abs(geom.AngleBetween(p[i-1].Tangent(1), p[i].Tangent(0))))
	}
	return most
}

// A panel is as many times as wide as its edge, and a binding as long as what it binds.
func TestPanelAndBinding(t *testing.T) {
	t.Parallel()
	pieces := blockPieces(t, figures[0], shoulderEased)
	front, back := pieces["front"], pieces["back"]
	p, err := cutting.Panel(back, "hem", "frill", "Frill", 1.5, 140)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p)
	near(t, "top", p.RunLength("top"), 1.5*back.RunLength("hem"), 1e-6)
	near(t, "side", p.RunLength("side"), 140, 1e-6)
	for name, times := range map[string]float64{"nowhere": 1.5, "hem": 0.5} {
		if _, err := cutting.Panel(back, name, "frill", "Frill", times, 140); err == nil {
			t.Errorf("a panel of %g times the %s", times, name)
		}
	}
	armhole := front.RunLength("armhole") + back.RunLength("armhole")
	for round, times := range map[bool]float64{false: 1, true: 2} {
		p, err := cutting.Binding(front, back, "armhole", "strip", "Strip", 32, round)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "binding", p.RunLength("top"), 0.97*times*armhole+20, 1e-6)
	}
}
