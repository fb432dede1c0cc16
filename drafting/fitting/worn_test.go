package fitting

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

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

// TestCutSleeves cuts off the sleeves of a front and a back 250 mm wide, whose overarm runs on
// level from the shoulder point 150 mm from the neck point, and whose underarm lies 200 mm below: each
// keeps the area of both parts, the sleeves' overarm runs down the paper, and the seams join
// body to body, sleeve to sleeve and each sleeve to its body.
func TestCutSleeves(t *testing.T) {
	half := func(name string, side float64) pattern.Piece {
		points := []geom.Point{{X: 0, Y: 0}, {X: side * 700, Y: 0}, {X: side * 700, Y: 200}, {X: side * 250, Y: 200},
			{X: side * 250, Y: 800}, {X: 0, Y: 800}}
		names := []string{"overarm", "hem_sleeve", "side", "side_low", "hem", "centre"}
		p := edgesOf(name, points, names...)
		under := pattern.Edge{Name: "side", Run: "side", Role: pattern.RoleSeam,
			Path: geom.Polyline(points[2], points[3], points[4])}
		p.Edges = slices.Replace(p.Edges, 2, 4, under)
		p.Notches = []pattern.Notch{{Edge: "overarm", At: 150, Name: "shoulder point"}}
		if side < 0 { // an outline runs clockwise
			p = edgesOf(name, []geom.Point{{X: 0, Y: 0}, {X: 0, Y: 800}, {X: -250, Y: 800}, {X: -250, Y: 200},
				{X: -700, Y: 200}, {X: -700, Y: 0}}, "centre", "hem", "side", "side_up", "hem_sleeve", "overarm")
			under.Path = under.Path.Reverse()
			p.Edges = slices.Replace(p.Edges, 2, 4, under)
			p.Notches = []pattern.Notch{{Edge: "overarm", At: 550, Name: "shoulder point"}}
		}
		return p
	}
	ref := func(piece, edge string) pattern.EdgeRef { return pattern.EdgeRef{Piece: piece, Edge: edge} }
	p := pattern.Pattern{Pieces: []pattern.Piece{half("front", -1), half("back", 1)}, Seams: []pattern.Seam{
		{A: ref("front", "overarm"), B: ref("back", "overarm")}, {A: ref("front", "side"), B: ref("back", "side")}}}
	got, pieceOf := cutSleeves(p)
	if len(got.Pieces) != 4 || pieceOf["front_sleeve"] != "front" || pieceOf["back_sleeve"] != "back" {
		t.Fatalf("%d pieces, %v", len(got.Pieces), pieceOf)
	}
	areas := map[string]float64{}
	for _, q := range got.Pieces {
		areas[q.Name] = math.Abs(q.Outline().Area())
	}
	for _, name := range []string{"front", "back"} {
		body, arm := areas[name], areas[name+"_sleeve"]
		// The cut runs from 150 mm from the middle to 250, found to a 200th of the under edge.
		if want := 550*200 - 100*200/2.0; math.Abs(body+arm-(700*200+250*600)) > 1 || math.Abs(arm-want) > 5.3*100 {
			t.Errorf("%s: %.0f and %.0f mm2, want %.0f of the sleeve", name, body, arm, want)
		}
		arms, _ := got.Piece(name + "_sleeve")
		if over, _ := arms.Edge("overarm"); math.Abs(over.Path.Start().X-over.Path.End().X) > 0.01 {
			t.Errorf("%s: the overarm runs from %v to %v", name, over.Path.Start(), over.Path.End())
		}
	}
	set := map[string]*panel{}
	for _, name := range []string{"front_sleeve", "back_sleeve"} {
		q, _ := got.Piece(name)
		set[name] = newPanel(q)
		set[name].where = sleeve
	}
	round := newRing(set["front_sleeve"], set, got.Seams)
	if round == nil || len(round.panels) != 2 {
		t.Fatalf("the sleeves do not go round the arm: %+v", round)
	}
	if _, whole := round.at(set["back_sleeve"], r2.Vec{Y: round.under + 100}); math.Abs(whole-400) > 1 {
		t.Errorf("the sleeve is %.0f mm round, want 400", whole)
	}
}
