package geomtest_test

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/geom/geomtest"
)

func TestInflections(t *testing.T) {
	t.Parallel()
	ess := geom.Cubic(geom.Pt(0, 0), geom.Pt(50, 40), geom.Pt(50, -40), geom.Pt(100, 0))
	for _, c := range []struct {
		name string
		p    geom.Path
		want int
	}{
		{"line", geom.Polyline(geom.Pt(0, 0), geom.Pt(100, 0)), 0},
		{"circle", geom.Arc(geom.Pt(0, 0), 50, 0, 2*math.Pi), 0},
		{"ess", geom.Path{ess}, 1},
		{"ess twice", geom.Path{ess, ess.Move(geom.Shift(geom.Pt(100, 0)))}, 3},
		{"zigzag of corners", geom.Polyline(geom.Pt(0, 0), geom.Pt(10, 10), geom.Pt(20, 0), geom.Pt(30, 10), geom.Pt(40, 0)),
			2},
		{"ess of half a degree", geom.Path{geom.Cubic(geom.Pt(0, 0), geom.Pt(50, 0.4), geom.Pt(50, -0.4), geom.Pt(100, 0))},
			0},
		{"arc, an answering half degree, arc", geom.Path{
			arc(geom.Pt(0, 0), 100, 0, 0.5),
			arc(geom.Pt(0, 0), 100, 0.5, 0.5+0.4*geomtest.InflectionTurn).Move(geom.Reflect(geom.Polar(100, 0.5),
				geom.Polar(1, 0.5+math.Pi/2))),
			arc(geom.Pt(0, 0), 100, 0.5, 1),
		}, 0},
		{"arc, an answering two degrees, arc", geom.Path{
			arc(geom.Pt(0, 0), 100, 0, 0.5),
			arc(geom.Pt(0, 0), 100, 0.5, 0.5+2*geomtest.InflectionTurn).Move(geom.Reflect(geom.Polar(100, 0.5),
				geom.Polar(1, 0.5+math.Pi/2))),
			arc(geom.Pt(0, 0), 100, 0.5, 1),
		}, 2},
	} {
		if got := geomtest.Inflections(c.p); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
		if got := geomtest.Inflections(c.p.Reverse()); got != c.want {
			t.Errorf("%s reversed: %d, want %d", c.name, got, c.want)
		}
	}
}

// arc returns part of a circle, in radians from its centre.
func arc(c geom.Point, radius, from, to float64) geom.Segment {
	return geom.Arc(c, radius, from, to)[0]
}
