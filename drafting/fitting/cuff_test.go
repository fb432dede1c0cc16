package fitting

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// TestCloseCuffs: of a cuff 250 mm long that laps by 25 and folds at 65 of its 130 mm, 225 by 65
// show below the sleeve, and its ends are sewn. One that is turned back is left as it is.
func TestCloseCuffs(t *testing.T) {
	arm := edgesOf("sleeve", []geom.Point{{X: 0, Y: 0}, {X: 225, Y: 0}, {X: 225, Y: 400}, {X: 0, Y: 400}},
		"cap", "underarm_front", "hem", "underarm_back")
	arm.Edges[0].Role = pattern.RoleCap
	cuff := edgesOf("cuff", []geom.Point{{X: 0, Y: 0}, {X: 250, Y: 0}, {X: 250, Y: 130}, {X: 25, Y: 130}, {X: 0, Y: 130}},
		"top", "end", "sleeve", "lap", "start")
	cuff.Lines = []pattern.Line{{Name: "fold", Path: geom.Polyline(geom.Pt(0, 65), geom.Pt(250, 65))}}
	p := pattern.Pattern{Pieces: []pattern.Piece{arm, cuff}, Seams: []pattern.Seam{
		{A: pattern.EdgeRef{Piece: "sleeve", Edge: "hem"}, B: pattern.EdgeRef{Piece: "cuff", Edge: "sleeve"}}}}
	got, closed := closeCuffs(p)
	if !closed["cuff"] || len(got.Seams) != 2 {
		t.Fatalf("closed %v, seams %+v", closed, got.Seams)
	}
	worn := got.Pieces[1]
	if area := math.Abs(worn.Outline().Area()); math.Abs(area-225*65) > 1 {
		t.Errorf("an area of %.0f mm2, want %d", area, 225*65)
	}
	sewn, _ := worn.Edge("sleeve")
	if d := sewn.Path.End().Sub(sewn.Path.Start()); math.Abs(d.X-225) > 0.01 || math.Abs(d.Y) > 0.01 {
		t.Errorf("the sewn edge runs by %v, want 225 mm to the right", d)
	}
	box := worn.Outline().Bounds()
	if top := sewn.Path.Start().Y; math.Abs(box.Min.Y-top) > 0.01 || math.Abs(box.Max.Y-top-65) > 0.01 {
		t.Errorf("from %.1f to %.1f mm, sewn at %.1f", box.Min.Y, box.Max.Y, top)
	}
	for _, ref := range []pattern.EdgeRef{got.Seams[1].A, got.Seams[1].B} {
		if e, ok := worn.Edge(ref.Edge); !ok || math.Abs(e.Path.Length()-65) > 0.01 {
			t.Errorf("closed at %v, %.1f mm long, want 65", ref, e.Path.Length())
		}
	}
	p.Pieces[1].Title = "Turn-back cuff"
	if _, closed := closeCuffs(p); len(closed) > 0 {
		t.Errorf("turned back: closed %v", closed)
	}
}

// TestGatherBetween: a cap of 300 mm, of which the 100 mm between its end and a notch are
// gathered on to 50, is full by 2 there, and nowhere else.
func TestGatherBetween(t *testing.T) {
	q := newPanel(edgesOf("sleeve", []geom.Point{{X: 0, Y: 0}, {X: 300, Y: 0}, {X: 300, Y: 400}, {X: 0, Y: 400}},
		"cap", "front", "hem", "back"))
	q.where = sleeve
	q.Notches = []pattern.Notch{{Edge: "cap", At: 200}}
	hole := newPanel(edgesOf("front", []geom.Point{{X: 250, Y: 0}, {X: 0, Y: 0}, {X: 0, Y: -300}, {X: 250, Y: -300}},
		"armhole", "side", "hem", "centre"))
	hole.Notches = []pattern.Notch{{Edge: "armhole", At: 50}}
	crown, _ := q.Edge("cap")
	armhole, _ := hole.Edge("armhole")
	if !q.gatherBetween(crown, hole, armhole) || len(q.gathers) != 1 {
		t.Fatalf("gathers %+v", q.gathers)
	}
	g := q.gathers[0]
	if math.Abs(g.fullness-2) > 1e-9 || math.Abs(g.line[0].X-200) > 1e-9 {
		t.Errorf("full by %.2f from %v on, want 2 from 200", g.fullness, g.line[0])
	}
}

// TestCutRaglans cuts the yoke off a front sleeve that was turned away from its front: it comes to
// lie where it was before, both parts keep their area, and the shoulder point is as far from the
// middle as the body's, 200 mm.
func TestCutRaglans(t *testing.T) {
	neck, low, pit := geom.Pt(-70, 0), geom.Pt(-40, 60), geom.Pt(-180, 180)
	tip := geom.Pt(-200, 50)
	body := edgesOf("front", []geom.Point{{X: -250, Y: 250}, pit, low, {X: 0, Y: 80}, {X: 0, Y: 800}, {X: -250, Y: 800}},
		"armhole", "raglan", "neckline", "centre", "hem", "side")
	body.Edges[0].Role = pattern.RoleArmhole
	arm := edgesOf("sleeve_front", []geom.Point{neck, low, pit, {X: -240, Y: 330}, {X: -300, Y: 800}, {X: -420, Y: 800}},
		"neckline", "raglan", "cap", "underarm", "hem", "overarm")
	arm.Edges[0].Role, arm.Edges[2].Role = pattern.RoleNeckline, pattern.RoleCap
	arm.Edges[5].Path = geom.Polyline(geom.Pt(-420, 800), tip, neck)
	away := geom.Turn(geom.Pt(30, 40), 0.5).Then(geom.Shift(geom.Pt(500, -200)))
	p := pattern.Pattern{Pieces: []pattern.Piece{body, arm.Move(away)}, Seams: []pattern.Seam{
		{A: pattern.EdgeRef{Piece: "front", Edge: "raglan"}, B: pattern.EdgeRef{Piece: "sleeve_front", Edge: "raglan"}},
		{A: pattern.EdgeRef{Piece: "front", Edge: "armhole"}, B: pattern.EdgeRef{Piece: "sleeve_front", Edge: "cap"}}}}
	got, pieceOf := cutRaglans(p, 200)
	yoke, ok := got.Piece("front_yoke")
	if !ok || pieceOf["front_yoke"] != "sleeve_front" {
		t.Fatalf("%d pieces, %v", len(got.Pieces), pieceOf)
	}
	neckline, _ := yoke.Edge("neckline")
	shoulder, _ := yoke.Edge("overarm")
	if neckline.Path.Start().Dist(neck) > 0.01 || neckline.Path.End().Dist(low) > 0.01 ||
		shoulder.Path.Start().Dist(tip) > 1.5 {
		t.Errorf("the neckline runs from %v to %v, the shoulder from %v", neckline.Path.Start(), neckline.Path.End(),
			shoulder.Path.Start())
	}
	rest, _ := got.Piece("sleeve_front")
	whole := math.Abs(arm.Outline().Area())
	if sum := math.Abs(yoke.Outline().Area()) + math.Abs(rest.Outline().Area()); math.Abs(sum-whole) > 1 {
		t.Errorf("%.0f mm2 in all, want %.0f", sum, whole)
	}
	want := pattern.Seam{A: pattern.EdgeRef{Piece: "sleeve_front", Edge: armholeCut},
		B: pattern.EdgeRef{Piece: "front_yoke", Edge: armholeCut}}
	if got.Seams[0].B.Piece != "front_yoke" || !joinedBy(got.Seams, want) {
		t.Errorf("seams %+v", got.Seams)
	}
}
