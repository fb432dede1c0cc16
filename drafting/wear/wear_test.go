package wear_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

func lookup(m body.Measures) wear.Lookup {
	return func(n body.Name) (float64, bool) { v, ok := m[n]; return v, ok }
}

func TestGirthToPass(t *testing.T) {
	t.Parallel()
	measured := body.Measures{body.HeadGirth: 560, body.BustGirth: 920, body.HipGirth: 980, body.HighHipGirth: 1000,
		body.HandGirth: 200, body.FootGirth: 320, body.UpperArmGirth: 290}
	few := body.Measures{body.WristGirth: 160, body.AnkleGirth: 220}
	for _, c := range []struct {
		part    wear.Part
		of      body.Measures
		stretch float64
		want    float64
	}{
		{wear.Head, measured, 0, 570},
		{wear.Head, few, 0, 610},
		{wear.Head, measured, 0.4, 400},
		{wear.Shoulders, measured, 0, 980},
		{wear.Bust, measured, 0, 940},
		{wear.Hips, measured, 0, 1020},
		{wear.Hand, measured, 0, 200},
		{wear.Hand, few, 0, 211.2},
		{wear.Foot, measured, 0, 330},
		{wear.Foot, few, 0, 329},
		{wear.Arm, measured, 0, 305},
	} {
		if got, err := c.part.Girth(lookup(c.of), c.stretch); err != nil || math.Abs(got-c.want) > 0.01 {
			t.Errorf("%s of %v stretched by %g: %.2f, %v; want %.2f", c.part, c.of, c.stretch, got, err, c.want)
		}
	}
	_, err := wear.Hips.Girth(lookup(few), 0)
	if e, ok := errors.AsType[*wear.MissingError](err); !ok || e.Needs != body.HipGirth {
		t.Errorf("hips of a body without a hip girth: %v", err)
	}
}

// box returns a piece with four straight edges from the top left, clockwise:
// top, right, bottom, left.
func box(name string, a, b, c, d geom.Point, roles map[string]pattern.Role, cut pattern.Cut) pattern.Piece {
	p := pattern.Piece{Name: name, Cut: cut}
	corners := []geom.Point{a, b, c, d, a}
	for i, n := range []string{"top", "right", "bottom", "left"} {
		role := roles[n]
		if role == "" {
			role = pattern.RoleSeam
		}
		p.Edges = append(p.Edges, pattern.Edge{Name: n, Run: n, Role: role,
			Path: geom.Polyline(corners[i], corners[i+1])})
	}
	return p
}

func ref(s string) pattern.EdgeRef {
	piece, edge, _ := strings.Cut(s, "/")
	return pattern.EdgeRef{Piece: piece, Edge: edge}
}

// failing returns the findings of the checks that do not hold.
func failing(t *testing.T, p pattern.Pattern, m body.Measures, o wear.Opening) []string {
	t.Helper()
	checks, err := wear.Read(p, lookup(m), []wear.Opening{o})
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, c := range checks {
		if !c.Holds() {
			all = append(all, c.Finding())
		}
	}
	return all
}

var person = body.Measures{body.HeadGirth: 560, body.BustGirth: 920, body.HipGirth: 980, body.UpperArmGirth: 300,
	body.ElbowGirth: 265, body.WristGirth: 160, body.ArmLength: 600, body.ShoulderToElbow: 345}

// TestSleeveRoom reads a sleeve that narrows half-way: it is long enough at
// both ends, and only a reading along its length finds the place.
func TestSleeveRoom(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		waist float64 // width of the sleeve 300 mm above its hem
		want  string
	}{
		{330, ""},
		{250, "room for the arm above sleeve/bottom, 301 mm above the opening: 251 mm, must be at least 289 mm, " +
			"short by 39 mm"},
	} {
		over := geom.Polyline(geom.Pt(-180, 0), geom.Pt(0, -150), geom.Pt(180, 0))
		right := geom.Polyline(geom.Pt(180, 0), geom.Pt(c.waist/2, 150), geom.Pt(130, 450))
		p := pattern.Pattern{Pieces: []pattern.Piece{{Name: "sleeve", Cut: pattern.Cut{Count: 2, Pair: true},
			Edges: []pattern.Edge{
				{Name: "cap", Run: "cap", Role: pattern.RoleCap, Path: over},
				{Name: "right", Run: "right", Role: pattern.RoleSeam, Path: right},
				{Name: "bottom", Run: "bottom", Role: pattern.RoleHem, Path: geom.Polyline(geom.Pt(130, 450), geom.Pt(-130, 450))},
				{Name: "left", Run: "left", Role: pattern.RoleSeam,
					Path: right.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))).Reverse()},
			}}}}
		hem := wear.Opening{Edges: []pattern.EdgeRef{ref("sleeve/bottom")}, Passes: wear.Hand}
		got := strings.Join(failing(t, p, person, hem), "; ")
		if got != c.want {
			t.Errorf("a sleeve %g mm wide in the middle: %q, want %q", c.waist, got, c.want)
		}
	}
}

// TestTrunk reads a dress between its neck and its hem.
func TestTrunk(t *testing.T) {
	t.Parallel()
	onFold := pattern.Cut{Count: 1, OnFold: true}
	dress := func(top, bottom float64) pattern.Pattern {
		var p pattern.Pattern
		for _, name := range []string{"front", "back"} {
			q := box(name, geom.Pt(0, 0), geom.Pt(top, 0), geom.Pt(bottom, 600), geom.Pt(0, 600),
				map[string]pattern.Role{"bottom": pattern.RoleHem, "top": pattern.RoleNeckline}, onFold)
			q.Lines = []pattern.Line{{Name: "hip", Path: geom.Polyline(geom.Pt(0, 400), geom.Pt(200, 400))}}
			q.Notches = []pattern.Notch{{Edge: "left", At: 200, Kind: pattern.NotchSingle}} // 400 from the top
			p.Pieces = append(p.Pieces, q)
		}
		return p
	}
	ring := []pattern.EdgeRef{ref("front/top"), ref("back/top")}
	zip := []pattern.EdgeRef{ref("back/left")}
	trunk := []string{"front", "back"}
	for _, c := range []struct {
		name        string
		top, bottom float64
		o           wear.Opening
		want        []string
	}{
		{"wide", 250, 260, wear.Opening{Trunk: trunk}, nil},
		{"narrow", 230, 260, wear.Opening{Trunk: trunk}, []string{"shoulders through front + back, 599 mm above its lower " +
			"edge: 920 mm, must be at least 980 mm, short by 60 mm"}},
		{"narrow neck", 130, 260, wear.Opening{}, []string{"head through front/top + back/top: 520 mm, must be at least " +
			"570 mm, short by 50 mm"}},
		{"stretched", 200, 210, wear.Opening{Trunk: trunk, Stretch: 0.3}, nil},
		{"zip", 200, 270, wear.Opening{Trunk: trunk, Closing: zip, Opens: 400}, nil},
		{"zip too short", 200, 230, wear.Opening{Trunk: trunk, Closing: zip, Opens: 40}, []string{
			"foot of the closing along back/left: 0.0 mm, must be 40.0 mm, off by -40.0 mm",
			"shoulders through front + back, 559 mm above its lower edge: 808 mm, must be at least 980 mm, short by 172 mm"}},
		{"wrap", 100, 100, wear.Opening{Trunk: trunk, Closing: zip}, nil},
	} {
		c.o.Edges, c.o.Passes = ring, wear.Head
		got := failing(t, dress(c.top, c.bottom), person, c.o)
		if strings.Join(got, "\n") != strings.Join(c.want, "\n") {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// A neck that reaches below the armholes lies open down to its lowest point: the
// shoulders have nothing to pass before that.
func TestTrunkBelowADeepNeck(t *testing.T) {
	t.Parallel()
	var p pattern.Pattern
	corners := []geom.Point{geom.Pt(0, 150), geom.Pt(150, 0), geom.Pt(250, 60), geom.Pt(250, 600), geom.Pt(0, 600)}
	for _, name := range []string{"front", "back"} {
		q := pattern.Piece{Name: name, Cut: pattern.Cut{Count: 1, OnFold: true}}
		for i, role := range []pattern.Role{pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleSeam, pattern.RoleHem,
			pattern.RoleFold} {
			q.Edges = append(q.Edges, pattern.Edge{Name: string(role), Run: string(role), Role: role,
				Path: geom.Polyline(corners[i], corners[(i+1)%len(corners)])})
		}
		p.Pieces = append(p.Pieces, q)
	}
	band := pattern.Piece{Name: "band", Cut: pattern.Cut{Count: 1}, Edges: []pattern.Edge{
		{Name: "edge", Run: "edge", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(700, 0))},
		{Name: "rest", Run: "rest", Path: geom.Polyline(geom.Pt(700, 0), geom.Pt(700, 40), geom.Pt(0, 40), geom.Pt(0, 0))}}}
	p.Pieces = append(p.Pieces, band)
	for _, edges := range [][]pattern.EdgeRef{{ref("front/neckline"), ref("back/neckline")}, {ref("band/edge")}} {
		o := wear.Opening{Edges: edges, Passes: wear.Head, Trunk: []string{"front", "back"}}
		if got := failing(t, p, person, o); len(got) > 0 {
			t.Errorf("1000 mm around below the neck, through %v: %q, want no finding", edges, got)
		}
	}
}

// A waist that opens at the hip has no level below it to read: the seat passes the
// opening alone.
func TestTrunkOpenAtTheHip(t *testing.T) {
	t.Parallel()
	var p pattern.Pattern
	for _, name := range []string{"front", "back"} {
		q := box(name, geom.Pt(0, 0), geom.Pt(300, 0), geom.Pt(300, 600), geom.Pt(0, 600),
			map[string]pattern.Role{"bottom": pattern.RoleHem}, pattern.Cut{Count: 2, Pair: true})
		q.Lines = []pattern.Line{{Name: "hip", Path: geom.Polyline(geom.Pt(0, 1), geom.Pt(300, 1))}}
		p.Pieces = append(p.Pieces, q)
	}
	o := wear.Opening{Edges: []pattern.EdgeRef{ref("front/top"), ref("back/top")}, Passes: wear.Hips,
		Trunk: []string{"front", "back"}}
	if got := failing(t, p, person, o); len(got) > 0 {
		t.Errorf("1200 mm around the hip: %q, want no finding", got)
	}
}

// A closing as long as needed lets the part pass, and one 3 mm shorter does not.
func TestClosingNeeded(t *testing.T) {
	t.Parallel()
	seam := pattern.Cut{Count: 2, Pair: true}
	roles := map[string]pattern.Role{"bottom": pattern.RoleHem, "top": pattern.RoleNeckline}
	trunk := []string{"front", "back"}
	for _, c := range []struct {
		name        string
		part        wear.Part
		top, bottom float64 // half widths of a garment 600 mm long
		most        float64 // that it should need
	}{
		{"wide enough closed", wear.Head, 250, 260, 0},
		{"a little narrow", wear.Head, 240, 255, 400},
		{"narrow", wear.Head, 120, 250, 600},
		{"over the hips", wear.Hips, 120, 260, 600},
	} {
		dress := func(opens float64) pattern.Pattern {
			var p pattern.Pattern
			for _, name := range trunk {
				q := box(name, geom.Pt(0, 0), geom.Pt(c.top, 0), geom.Pt(c.bottom, 600), geom.Pt(0, 600), roles, seam)
				q.Notches = []pattern.Notch{{Edge: "left", At: 600 - opens, Kind: pattern.NotchSingle}}
				p.Pieces = append(p.Pieces, q)
			}
			return p
		}
		needed, ok, err := wear.ClosingNeeded(dress(0).Pieces, 0, c.part, lookup(person))
		if err != nil || !ok || needed > c.most || (needed == 0) != (c.most == 0) {
			t.Errorf("%s: needs %.1f mm, %t, %v; want at most %g", c.name, needed, ok, err, c.most)
		}
		for _, less := range []float64{0, 3} {
			if less > needed {
				continue
			}
			o := wear.Opening{Edges: []pattern.EdgeRef{ref("front/top"), ref("back/top")}, Passes: c.part, Trunk: trunk,
				Closing: []pattern.EdgeRef{ref("back/left")}, Opens: needed - less}
			if got := failing(t, dress(needed-less), person, o); (len(got) > 0) != (less > 0) {
				t.Errorf("%s: opened %.1f of %.1f mm: %q", c.name, needed-less, needed, got)
			}
		}
	}
}

func TestOpeningOfNothing(t *testing.T) {
	t.Parallel()
	front := box("front", geom.Pt(0, 0), geom.Pt(100, 0), geom.Pt(100, 100), geom.Pt(0, 100), nil, pattern.Cut{Count: 2})
	p := pattern.Pattern{Pieces: []pattern.Piece{front}}
	for _, c := range []struct {
		o    wear.Opening
		want string
	}{
		{wear.Opening{Edges: []pattern.EdgeRef{ref("back/top")}, Passes: wear.Head}, `no piece "back"`},
		{wear.Opening{Edges: []pattern.EdgeRef{ref("front/side")}, Passes: wear.Head}, `no edge "side"; it has [top right`},
		{wear.Opening{Edges: []pattern.EdgeRef{ref("front/top")}, Passes: "knee"}, `unknown part "knee"; want one of [head`},
		{wear.Opening{Edges: []pattern.EdgeRef{ref("front/top")}, Passes: wear.Hand}, "state its reach"},
		{wear.Opening{Edges: []pattern.EdgeRef{ref("front/top")}, Passes: wear.Head, Trunk: []string{"x"}}, `no piece "x"`},
	} {
		if _, err := wear.Read(p, lookup(person), []wear.Opening{c.o}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.o, err, c.want)
		}
	}
}

// TestNarrowestBesideADart reads a half that is 260 mm wide, with a dart from its side down
// to a bust point. A level through the dart goes on where its other leg is sewn on.
func TestNarrowestBesideADart(t *testing.T) {
	t.Parallel()
	apex := geom.Pt(100, 200)
	end := func(degrees float64) geom.Point {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		return apex.Add(geom.Pt(180*cos, -180*sin))
	}
	upper, lower := end(30), end(20)
	edge := func(name string, role pattern.Role, points ...geom.Point) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: geom.Polyline(points...)}
	}
	q := pattern.Piece{Name: "front", Edges: []pattern.Edge{
		edge("top", pattern.RoleNeckline, geom.Pt(0, 0), geom.Pt(upper.X, 0)),
		edge("side_1", pattern.RoleSeam, geom.Pt(upper.X, 0), upper),
		edge("dart", pattern.RoleDartMouth, upper, lower),
		edge("side_2", pattern.RoleSeam, lower, geom.Pt(lower.X, 600)),
		edge("hem", pattern.RoleHem, geom.Pt(lower.X, 600), geom.Pt(0, 600)),
		edge("centre", pattern.RoleFold, geom.Pt(0, 600), geom.Pt(0, 0)),
	}, Darts: []pattern.Dart{{Name: "bust_dart", Mouth: "dart",
		Legs: [2]geom.Path{geom.Polyline(upper, apex), geom.Polyline(lower, apex)}, Apexes: []geom.Point{apex}}}}
	girth, ok := wear.Narrowest([]pattern.Piece{q})
	if least, most := 2*(lower.X-13.5), 2*lower.X; !ok || girth < least || girth > most {
		t.Errorf("%.1f mm, want %.1f to %.1f", girth, least, most)
	}
}
