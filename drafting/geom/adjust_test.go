package geom_test

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
)

// A path without specks keeps its ends and stays one line, wherever the speck
// lies.
func TestWithoutSpecks(t *testing.T) {
	t.Parallel()
	a, b, c := geom.Pt(0, 0), geom.Pt(100, 20), geom.Pt(180, 90)
	near := func(p geom.Point) geom.Point { return p.Add(geom.Pt(0.01, 0.03)) }
	curve := geom.Cubic(near(b), geom.Pt(130, 30), geom.Pt(170, 60), c)
	for name, p := range map[string]geom.Path{
		"at the start":  {geom.Line(near(a), a), geom.Line(a, b), geom.Line(b, c)},
		"in the middle": {geom.Line(a, b), geom.Line(b, near(b)), curve},
		"at the end":    {geom.Line(a, b), geom.Line(b, c), geom.Line(c, near(c))},
		"two together":  {geom.Line(a, b), geom.Line(b, near(b)), geom.Line(near(b), b), geom.Line(b, c)},
	} {
		got := p.WithoutSpecks(0.1)
		if len(got) != 2 || got.Check() != nil || got.Start() != p.Start() || got.End() != p.End() {
			t.Errorf("%s: %v", name, got)
		}
		if d := got.Length() - p.Length(); d > 0.1 || d < -0.1 {
			t.Errorf("%s: its length changes by %.3f mm", name, d)
		}
	}
	if got := (geom.Path{geom.Line(a, near(a))}).WithoutSpecks(0.1); len(got) != 1 {
		t.Errorf("a path that is one speck: %v", got)
	}
}

// Stretching keeps the directions in which a path ends: of a neckline, which is
// stretched along both axes, and of an armhole, which goes in and out again.
func TestStretchKeepsEnds(t *testing.T) {
	t.Parallel()
	neckline := geom.Path{geom.Cubic(geom.Pt(0, 75), geom.Pt(50, 75), geom.Pt(98, 20), geom.Pt(98, -50))}
	armhole := func(foot float64) geom.Path {
		return geom.Path{
			geom.Cubic(geom.Pt(178, -19), geom.Pt(165, 12), geom.Pt(149, 40), geom.Pt(149, 70)),
			geom.Cubic(geom.Pt(149, 70), geom.Pt(149, 110), geom.Pt(foot-25, 140), geom.Pt(foot, 132)),
		}
	}
	for name, c := range map[string]struct {
		path       geom.Path
		start, end geom.Point // how far they move
		most       float64    // degrees
	}{
		"neckline":                      {neckline, geom.Pt(0, 130), geom.Pt(15, 6), 0.01},
		"armhole, foot below shoulder":  {armhole(172), geom.Pt(-1.4, -0.6), geom.Pt(0.6, 1.4), 1.5},
		"armhole, foot at its shoulder": {armhole(178), geom.Pt(-1.4, -0.6), geom.Pt(0.6, 1.4), 1.5},
		"armhole, foot further out":     {armhole(200), geom.Pt(-1.4, -0.6), geom.Pt(0.6, 1.4), 1.5},
		"armhole of a wide side":        {armhole(260), geom.Pt(-1.4, -0.6), geom.Pt(0.6, 1.4), 1.5},
	} {
		got := c.path.Stretch(c.path.Start().Add(c.start), c.path.End().Add(c.end))
		for end, turn := range map[string]float64{
			"start": geom.AngleBetween(c.path.StartTangent(), got.StartTangent()),
			"end":   geom.AngleBetween(c.path.EndTangent(), got.EndTangent()),
		} {
			if turn *= 180 / math.Pi; math.Abs(turn) > c.most {
				t.Errorf("%s: its %s turns by %.2f degrees, at most %g", name, end, turn, c.most)
			}
		}
		if want := c.path.End().Add(c.end); !got.End().Near(want, 1e-9) {
			t.Errorf("%s: ends at %v, want %v", name, got.End(), want)
		}
	}
}
