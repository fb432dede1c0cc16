package proof

import (
	"strings"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func dartOf(mouth string, points ...geom.Point) pattern.Dart {
	n := len(points) - 1
	return pattern.Dart{Name: "waist_dart", Mouth: mouth, Apexes: []geom.Point{points[n]},
		Legs: [2]geom.Path{geom.Polyline(points[0], points[n]), geom.Polyline(points[1:]...)}}
}

// A dart that opens wide at its point is a fault, one that sewing tapers over its last millimetre is not.
func TestBluntDarts(t *testing.T) {
	t.Parallel()
	tapered := dartOf("m", geom.Pt(-5, 0), geom.Pt(5, 0), geom.Pt(0, 100))
	tapered.Legs = [2]geom.Path{geom.Polyline(geom.Pt(-5, 0), geom.Pt(-1, 99.5), geom.Pt(0, 100)),
		geom.Polyline(geom.Pt(5, 0), geom.Pt(1, 99.5), geom.Pt(0, 100))}
	inner := dartOf("", geom.Pt(0, 0), geom.Pt(0, 0), geom.Pt(0, 200))
	inner.Legs = [2]geom.Path{geom.Polyline(geom.Pt(0, 0), geom.Pt(-30, 20), geom.Pt(0, 200)),
		geom.Polyline(geom.Pt(0, 0), geom.Pt(30, 20), geom.Pt(0, 200))}
	for _, c := range []struct {
		name string
		d    pattern.Dart
		says string
	}{
		{"a slim dart", dartOf("m", geom.Pt(-10, 0), geom.Pt(10, 0), geom.Pt(0, 100)), ""},
		{"a square one", dartOf("m", geom.Pt(-50, 0), geom.Pt(50, 0), geom.Pt(0, 50)), "ends blunt, at 90 degrees"},
		{"a tapered one", tapered, ""},
		{"an inner one, blunt above", inner, "ends blunt, at 113 degrees"},
		{"an empty one", pattern.EmptyDart("bust_dart", geom.Pt(0, 0), geom.Pt(0, 50)), ""},
	} {
		faults := bluntDarts(pattern.Piece{Name: "front", Darts: []pattern.Dart{c.d}})
		if (c.says == "") != (len(faults) == 0) || c.says != "" && !strings.Contains(faults[0].Reason, c.says) {
			t.Errorf("%s: %v; want %q", c.name, faults, c.says)
		}
	}
}

// A centre seam a little off the grain is a fault; one far off it is meant.
func TestOffGrain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		to   geom.Point
		says string
	}{
		{geom.Pt(0, -300), ""},
		{geom.Pt(15, -300), "front: centre_front lies 2.9 degrees off the grain"},
		{geom.Pt(200, -300), ""},
	} {
		p := pattern.Piece{Name: "front", Grain: geom.Line(geom.Pt(50, 0), geom.Pt(50, 200)), Edges: []pattern.Edge{
			{Name: "centre_front", Run: "centre_front", Role: pattern.RoleSeam, Path: geom.Polyline(geom.Pt(0, 0), c.to)},
			{Name: "side", Run: "side", Role: pattern.RoleSeam, Path: geom.Polyline(c.to, geom.Pt(0, 0))},
		}}
		faults := offGrain(p)
		if (c.says == "") != (len(faults) == 0) || c.says != "" && faults[0].Reason != c.says {
			t.Errorf("to %v: %v; want %q", c.to, faults, c.says)
		}
	}
}
