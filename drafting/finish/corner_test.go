package finish

import (
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// finished is one test piece after finishing.
func finished(t *testing.T, p pattern.Piece, rules map[string]float64) Piece {
	t.Helper()
	out, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{p}}, Rules{Allowances: rules})
	if err != nil {
		t.Fatal(err)
	}
	return out.Pieces[0]
}

// quad is a piece of four straight edges with the given roles and corners.
func quad(roles [4]pattern.Role, c [4]geom.Point) pattern.Piece {
	p := pattern.Piece{Name: "quad", Title: "Quad", Cut: pattern.Cut{Count: 1}}
	for i, name := range [4]string{"a", "b", "c", "d"} {
		p.Edges = append(p.Edges, edge(name, roles[i], geom.Line(c[i], c[(i+1)%4])))
	}
	return p
}

// corners are the corners of a straight-sided cut line.
func corners(p geom.Path) []geom.Point {
	var all []geom.Point
	for _, s := range p {
		all = append(all, s.P0)
	}
	return all
}

func has(points []geom.Point, want geom.Point) bool {
	for _, p := range points {
		if p.Near(want, 1e-6) {
			return true
		}
	}
	return false
}

// Worked by hand: a rectangle of 200 by 300 mm, and a trapezium.
func TestCornersOfStraightPieces(t *testing.T) {
	t.Parallel()
	const s, h, f, n = pattern.RoleSeam, pattern.RoleHem, pattern.RoleFold, pattern.RoleNeckline
	square := [4]geom.Point{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 300}, {X: 0, Y: 300}}
	// A hem whose right side flares outward by 40 in 300, its left side inward.
	sloped := [4]geom.Point{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 240, Y: 300}, {X: 40, Y: 300}}
	lean := math.Hypot(300, 40) / 300 * 10 // a 10 mm allowance of that side, measured level
	slope := 40.0 / 300
	for _, c := range []struct {
		name  string
		roles [4]pattern.Role
		at    [4]geom.Point
		rules map[string]float64
		want  []geom.Point
	}{
		{"mitred", [4]pattern.Role{s, s, s, s}, square, map[string]float64{"a": 5, "b": 20}, []geom.Point{
			{X: -10, Y: -5}, {X: 220, Y: -5}, {X: 220, Y: 310}, {X: -10, Y: 310},
		}},
		{"no allowance on one edge", [4]pattern.Role{s, s, s, s}, square, map[string]float64{"b": 0}, []geom.Point{
			{X: -10, Y: -10}, {X: 200, Y: -10}, {X: 200, Y: 310}, {X: -10, Y: 310},
		}},
		{"fold", [4]pattern.Role{s, s, h, f}, square, nil, []geom.Point{
			{X: 0, Y: -10}, {X: 210, Y: -10}, {X: 210, Y: 330}, {X: 0, Y: 330},
		}},
		{"hem turned up over sloping sides", [4]pattern.Role{s, s, h, s}, sloped, nil, []geom.Point{
			{X: 240 + lean, Y: 300}, {X: 240 + lean - 30*slope, Y: 330},
			{X: 40 - lean, Y: 300}, {X: 40 - lean - 30*slope, Y: 330},
		}},
		{"seam pressed open at a sloping neckline", [4]pattern.Role{n, s, s, s},
			[4]geom.Point{{X: 0, Y: 0}, {X: 200, Y: -40}, {X: 200, Y: 300},
				{X: 0, Y: 300}}, map[string]float64{"neckline": 0}, []geom.Point{
				{X: 200, Y: -40}, {X: 210, Y: -38}, {X: -10, Y: -2}, // the neckline rises 1 in 5: mirrored, it falls 2 in 10
			}},
	} {
		p := finished(t, quad(c.roles, c.at), c.rules)
		got := corners(p.CutLine)
		for _, want := range c.want {
			if !has(got, want) {
				t.Errorf("%s: no corner at %v; corners %v", c.name, want, got)
			}
		}
	}
}

// A sharp corner is mitred up to the limit and cut off square there.
func TestMitreLimit(t *testing.T) {
	t.Parallel()
	for _, degrees := range []float64{90, 60, 48, 46, 30, 12} {
		half := degrees * math.Pi / 360
		tip, reach := geom.Pt(400, 0), 400.0
		s := pattern.RoleSeam
		p := quad([4]pattern.Role{s, s, s, s}, [4]geom.Point{
			tip, tip.Add(geom.Pt(-reach*math.Cos(half), reach*math.Sin(half))),
			{X: -100, Y: 0}, tip.Add(geom.Pt(-reach*math.Cos(half), -reach*math.Sin(half))),
		})
		cut := finished(t, p, nil).CutLine
		farthest := cut.Bounds().Max.X - tip.X
		want := min(10/math.Sin(half), MitreLimit*10)
		if math.Abs(farthest-want) > 1e-6 {
			t.Errorf("corner of %g°: point at %.3f mm, want %.3f", degrees, farthest, want)
		}
	}
}

// The turned-up hem must end where the side's own cut line lies: mirrored in
// the hem line, the cut line below the hem covers the cut line above it.
func TestTurnedHemMeetsWhatItLiesOn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		piece  pattern.Piece
		corner string // the edge at whose start or end the hem is looked at
		v, u   geom.Point
		edge   pattern.Role
	}{
		{skirtFront(), "hem at side", geom.Pt(285, 598), geom.Pt(95, -12), pattern.RoleHem},
		{bodiceFront(), "hem at side", geom.Pt(252, 614), geom.Pt(1, 0), pattern.RoleHem},
		{sleeve(), "wrist at front seam", geom.Pt(106, 580), geom.Pt(1, 0), pattern.RoleHem},
		{sleeve(), "wrist at back seam", geom.Pt(-104, 580), geom.Pt(-1, 0), pattern.RoleHem},
		{bodiceFront(), "shoulder at neck", geom.Pt(70, -50), geom.Pt(-112, -47), pattern.RoleSeam},
		{bodiceFront(), "shoulder at armhole", geom.Pt(182, -3), geom.Pt(112, 47), pattern.RoleSeam},
		{bodiceFront(), "side at armhole", geom.Pt(231, 174), geom.Pt(-5, -26), pattern.RoleSeam},
		{sleeve(), "seam at cap", geom.Pt(166, 148), geom.Pt(14, -82), pattern.RoleSeam},
	} {
		p := finished(t, c.piece, map[string]float64{"neckline": 7, "armhole": 8, "cap": 8})
		hem := line{c.v, c.u.Unit()}
		mirror := hem.reflection()
		cloth := p.Outline()
		inside := hem.along.Left() // the side of the hem line on which the piece lies
		if !cloth.Contains(c.v.Add(inside.Mul(2)).Sub(hem.along.Mul(2))) {
			inside = inside.Neg()
		}
		near := 60.0
		if c.edge == pattern.RoleSeam {
			near = 20
		}
		turned := 0
		for _, q := range p.CutLine.Flatten(0.05) {
			below := -inside.Dot(q.Sub(hem.at))
			if below < 0.5 || q.Dist(c.v) > near {
				continue
			}
			// On the hem's own parallel it is its depth that counts, not its end.
			onHem := false
			for i, e := range p.Edges {
				if _, d, _ := e.Path.Nearest(q); e.Role == c.edge && math.Abs(d-p.Allowances[i]) < 0.2 {
					onHem = true
				}
			}
			if onHem {
				continue
			}
			turned++
			if _, d, _ := p.CutLine.Nearest(mirror.Apply(q)); d > 0.05 {
				t.Errorf("%s: turned up, %v lies %.3f mm off the cut line", c.corner, q, d)
				break
			}
		}
		if turned == 0 {
			t.Errorf("%s: nothing of the cut line is turned", c.corner)
		}
	}
}

// A step between two allowances on one line is square to it.
func TestStepIsSquare(t *testing.T) {
	t.Parallel()
	s := pattern.RoleSeam
	p := quad([4]pattern.Role{s, s, s, s}, [4]geom.Point{{X: 0, Y: 0}, {X: 100, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 300}})
	p.Edges[3].Path = geom.Polyline(geom.Pt(200, 300), geom.Pt(0, 300), geom.Pt(0, 0))
	got := corners(finished(t, p, map[string]float64{"a": 6, "b": 15}).CutLine)
	for _, want := range []geom.Point{{X: 100, Y: -6}, {X: 100, Y: -15}} {
		if !has(got, want) {
			t.Errorf("no corner at %v: %v", want, got)
		}
	}
}

func TestWhatCannotBeFinished(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(p *pattern.Piece){
		"one edge":      func(p *pattern.Piece) { p.Edges = p.Edges[:1] },
		"empty edge":    func(p *pattern.Piece) { p.Edges[2].Path = nil },
		"gap":           func(p *pattern.Piece) { p.Edges[1].Path = geom.Path{ln(70, -50, 181, -3)} },
		"not a number":  func(p *pattern.Piece) { p.Edges[1].Path = geom.Path{ln(70, -50, math.NaN(), -3)} },
		"anticlockwise": reverse,
		"crooked fold": func(p *pattern.Piece) {
			p.Edges[7].Path = geom.Polyline(geom.Pt(0, 614), geom.Pt(3, 300), geom.Pt(0, 26))
		},
		"mouth of no dart":       func(p *pattern.Piece) { p.Darts = nil },
		"dart without its mouth": func(p *pattern.Piece) { p.Darts[0].Mouth = "nowhere" },
		"legs unequal": func(p *pattern.Piece) {
			p.Darts[0].Legs[0] = geom.Path{geom.Line(p.Darts[0].Legs[0].Start(), geom.Pt(100, 210))}
		},
		"leg away from the mouth": func(p *pattern.Piece) {
			p.Darts[0].Legs[0], p.Darts[0].Legs[1] = p.Darts[0].Legs[1], p.Darts[0].Legs[0]
		},
		"pressed over a third leg": func(p *pattern.Piece) { p.Darts[0].Pressed = 2 },
		"no leg":                   func(p *pattern.Piece) { p.Darts[0].Legs[0] = nil },
		"two edges of one name":    func(p *pattern.Piece) { p.Edges[1].Name = "neckline" },
		"notch on no edge":         func(p *pattern.Piece) { p.Notches[0].Edge = "nowhere" },
		"outline that crosses self": func(p *pattern.Piece) {
			p.Edges[6].Path = geom.Polyline(geom.Pt(252, 614), geom.Pt(100, -200), geom.Pt(0, 614))
		},
	} {
		p := bodiceFront()
		spoil(&p)
		out, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{band(), p}}, Rules{})
		if err == nil {
			t.Errorf("%s: finished", name)
		}
		if len(out.Pieces) != 0 {
			t.Errorf("%s: half a pattern handed out", name)
		}
		t.Logf("%s: %v", name, err)
	}
	// Allowances wider than the shape has room for.
	if _, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{gore()}},
		Rules{Allowances: map[string]float64{"scoop": 40}}); err == nil {
		t.Error("a scoop of 56 mm took allowances of 40")
	} else {
		t.Logf("too wide: %v", err)
	}
}

func reverse(p *pattern.Piece) {
	n := len(p.Edges)
	back := make([]pattern.Edge, n)
	for i, e := range p.Edges {
		e.Path = e.Path.Reverse()
		back[n-1-i] = e
	}
	p.Edges, p.Darts = back, nil
	for i := range p.Edges {
		p.Edges[i].Role = pattern.RoleSeam
	}
}

// Where the end of a hem lies all but square to the side, the cut line has no
// speck at the corner, however the piece lies on the paper.
func TestTurnedHemLeavesNoSpeck(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 3000 {
		corners := [4]geom.Point{geom.Pt(-350, 490), geom.Pt(-50, 490), geom.Pt(-50, 710), geom.Pt(-353.77, 710)}
		p := quad([4]pattern.Role{pattern.RoleSeam, pattern.RoleSeam, pattern.RoleHem, pattern.RoleSeam}, corners)
		a, b := corners[2], corners[3]
		level := geom.Pt(-1, 4e-7*(r.Float64()-0.5)).Unit()
		p.Edges[2].Path = geom.Path{geom.Cubic(a, a.Add(geom.Pt(-100, 0)), b.Sub(level.Mul(100)), b)}
		p.Edges[3].Path = geom.Path{geom.Line(b, b.Add(geom.Pt(0, -74))), geom.Line(b.Add(geom.Pt(0, -74)), corners[0])}
		p = p.Move(geom.Turn(geom.Pt(100*r.Float64(), 0), float64(i)*2e-3))
		cut := finished(t, p, map[string]float64{"hem": 35, "seam": 12}).CutLine
		for _, s := range cut {
			if s.Length() < 1e-3 {
				t.Fatalf("piece %d: the cut line has a segment of %g mm at %v", i, s.Length(), s.P0)
			}
		}
	}
}

// A seam that meets an armhole hollowed below the shoulder point, as the front panel
// of a princess dress does, is mitred: turned back, its end would run out for 100 mm.
func TestSeamThatMeetsAHollow(t *testing.T) {
	t.Parallel()
	p := pattern.Piece{Name: "front_panel", Title: "Front", Cut: pattern.Cut{Count: 1}, Edges: []pattern.Edge{
		edge("princess", pattern.RoleSeam, ln(-100, 400, -87, 241),
			cb(-87, 241, -87.9, 191.6, -102.754, 141.936, -138.78, 107.802)),
		edge("armhole", pattern.RoleArmhole, cb(-138.78, 107.802, -138.78, 79.739, -183.231, 71.381, -194.196, 45.548)),
		edge("shoulder", pattern.RoleSeam, ln(-194.196, 45.548, -75.5, -4.9)),
		edge("neckline", pattern.RoleNeckline, ln(-75.5, -4.9, 0, 165)),
		edge("centre_front", pattern.RoleFold, ln(0, 165, 0, 400)),
		edge("hem", pattern.RoleHem, ln(0, 400, -100, 400)),
	}}
	cut := finished(t, p, map[string]float64{"seam": 15, "armhole": 8}).CutLine
	if left := cut.Bounds().Min.X; left < -194.2-MitreLimit*15 {
		t.Errorf("the cut line runs out to %.1f mm beyond the shoulder point", -194.2-left)
	}
}
