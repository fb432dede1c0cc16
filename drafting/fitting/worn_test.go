package fitting

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// edgesOf returns a piece of straight edges between points.
func edgesOf(name string, points []geom.Point, names ...string) pattern.Piece {
	p := pattern.Piece{Name: name, Grain: geom.Line(points[0], points[len(points)-1])}
	for i, at := range points {
		p.Edges = append(p.Edges, pattern.Edge{Name: names[i], Run: names[i], Role: pattern.RoleSeam,
			Path: geom.Polyline(at, points[(i+1)%len(points)])})
	}
	return p
}

// TestClosedFront: a front of 200 by 600 mm whose lapel turns from the centre line at 300 mm up to
// the neck point loses what lies beyond the centre, and the lapel.
func TestClosedFront(t *testing.T) {
	front := edgesOf("front", []geom.Point{{X: -200, Y: 0}, {X: -60, Y: 0}, {X: 80, Y: 60}, {X: 20, Y: 300},
		{X: 20, Y: 600}, {X: -200, Y: 600}}, "shoulder", "gorge", "lapel", "centre_front", "hem", "side")
	front.Lines = []pattern.Line{{Name: "centre", Path: geom.Polyline(geom.Pt(0, 600), geom.Pt(0, 100))},
		{Name: rollLine, Path: geom.Polyline(geom.Pt(20, 400), geom.Pt(-60, 0))}}
	got := closedFront(front)
	// The roll line meets the centre at 300; to its left lie 200 by 600 less 60 by 300 over 2.
	if area, want := math.Abs(got.Outline().Area()), 200*600-60*300/2.0; math.Abs(area-want) > 1 {
		t.Errorf("an area of %.0f mm2, want %.0f", area, want)
	}
	for name, want := range map[string]struct {
		role   pattern.Role
		length float64
	}{centreLine: {pattern.RoleFold, 300}, rollLine: {pattern.RoleNeckline, math.Hypot(60, 300)}} {
		e, ok := got.Edge(name)
		if !ok || e.Role != want.role || math.Abs(e.Path.Length()-want.length) > 0.1 {
			t.Errorf("%s: %v %s %.1f mm, want %s %.1f", name, ok, e.Role, e.Path.Length(), want.role, want.length)
		}
	}
	if broken := got.ValidateOutline(); len(broken) > 0 {
		t.Error(broken)
	}
}

// TestCloseVents: the strips of a vent 40 mm wide are gone, and below the seam both sides are
// sewn as above it.
func TestCloseVents(t *testing.T) {
	back := edgesOf("back", []geom.Point{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 600}, {X: -40, Y: 600},
		{X: -40, Y: 420}, {X: 0, Y: 400}}, "neckline", "side", "hem", "vent_edge", "vent_top", "centre_back")
	back.Lines = []pattern.Line{{Name: "centre_back", Path: geom.Polyline(geom.Pt(0, 600), geom.Pt(0, 400))}}
	centre := pattern.EdgeRef{Piece: "back", Edge: "centre_back"}
	got := closeVents(pattern.Pattern{Pieces: []pattern.Piece{back}, Seams: []pattern.Seam{{A: centre, B: centre}}})
	if area := math.Abs(got.Pieces[0].Outline().Area()); math.Abs(area-200*600) > 1 {
		t.Errorf("an area of %.0f mm2, want %d", area, 200*600)
	}
	below := pattern.EdgeRef{Piece: "back", Edge: "centre_back_vent"}
	if len(got.Seams) != 2 || got.Seams[1].A != below || got.Seams[1].B != below {
		t.Errorf("seams %+v", got.Seams)
	}
	if e, ok := got.Pieces[0].Edge(below.Edge); !ok || math.Abs(e.Path.Length()-200) > 0.1 {
		t.Errorf("below the seam %v %+v", ok, e)
	}
}
