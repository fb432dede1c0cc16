package geom_test

import (
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
