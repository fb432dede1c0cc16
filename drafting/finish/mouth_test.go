package finish

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// folded is where the cloth of a dart comes to lie: the half beside the
// pressed leg is turned over that leg, the other half lies on top of it.
func folded(m mouth, q geom.Point) geom.Point {
	side := func(p geom.Point) bool { return m.middle.along.Cross(p.Sub(m.middle.at)) > 0 }
	if side(q) != side(m.legs[m.pressed].at) {
		q = m.middle.reflection().Apply(q)
	}
	return m.legs[m.pressed].reflection().Apply(q)
}

func TestFoldedMouthEndsAtItsEdge(t *testing.T) {
	t.Parallel()
	for _, pressed := range []int{0, 1} {
		for _, c := range []struct {
			piece pattern.Piece
			mouth string
		}{{skirtFront(), "waist_dart"}, {bodiceFront(), "side_dart"}} {
			c.piece.Darts[0].Pressed = pressed
			p := finished(t, c.piece, map[string]float64{"seam": 12})
			m, err := mouthOf(p.Piece, p.Darts[0])
			if err != nil {
				t.Fatal(err)
			}
			beside := p.Edges[m.beside(pressed, len(p.Edges))]
			open := p.Edges[m.edge]
			if open.Name != c.mouth {
				t.Fatalf("mouth is %s", open.Name)
			}
			for i, end := range [2]geom.Point{open.Path.Start(), open.Path.End()} {
				if !end.Near(p.Darts[0].Legs[i].Start(), 1e-9) {
					t.Errorf("%s: leg %d has moved off its mouth", c.mouth, i)
				}
			}
			peaks := 0
			for _, s := range open.Path {
				if math.Abs(m.middle.along.Unit().Cross(s.P3.Sub(m.middle.at))) < 1e-9 {
					peaks++
				}
			}
			if peaks != 1 {
				t.Errorf("%s: %d peaks on the dart's middle", c.mouth, peaks)
			}
			for _, q := range open.Path.Flatten(0.01) {
				if _, d, _ := beside.Path.Nearest(folded(m, q)); d > 0.02 {
					t.Errorf("%s pressed over leg %d: folded, the seam line's %v lies %.3f mm off %s", c.mouth, pressed, q, d,
						beside.Name)
					break
				}
			}
			// The cut line of the mouth lies between the continuations of the legs.
			checked := 0
			for _, q := range p.CutLine.Flatten(0.01) {
				between := m.legs[0].along.Cross(q.Sub(m.legs[0].at)) < -0.01 && m.legs[1].along.Cross(q.Sub(m.legs[1].at)) > 0.01
				if !between || q.Dist(m.middle.at) > 40 {
					continue
				}
				checked++
				if _, d, _ := p.CutLine.Nearest(folded(m, q)); d > 0.05 {
					t.Errorf("%s pressed over leg %d: folded, the cut line's %v lies %.3f mm off the cut line", c.mouth, pressed, q, d)
					break
				}
			}
			if checked == 0 {
				t.Errorf("%s: no cut line found at the mouth", c.mouth)
			}
		}
	}
}

// Worked by hand: a dart of 30 mm in a straight edge, its legs leaning alike.
// The peak of an edge that runs straight on when the dart is closed lies where
// the edge, turned over the leg, meets the middle.
func TestPeakOfASymmetricDart(t *testing.T) {
	t.Parallel()
	const half, depth = 15.0, 100.0
	phi := math.Atan2(half, depth) // half the dart's angle
	// The edges beside are square to the legs, so that they close to one line.
	a, b, apex := geom.Pt(-half, 0), geom.Pt(half, 0), geom.Pt(0, depth)
	left := a.Sub(geom.Polar(80, -phi))
	right := b.Add(geom.Polar(80, phi))
	p := pattern.Piece{
		Name: "test", Title: "Test", Cut: pattern.Cut{Count: 1},
		Edges: []pattern.Edge{
			edge("left", pattern.RoleSeam, geom.Line(left, a)),
			edge("mouth", pattern.RoleDartMouth, geom.Line(a, b)),
			edge("right", pattern.RoleSeam, geom.Line(b, right)),
			edge("rest", pattern.RoleSeam, geom.Line(right, geom.Pt(right.X, 200)),
				geom.Line(geom.Pt(right.X, 200), geom.Pt(left.X, 200)), geom.Line(geom.Pt(left.X, 200), left)),
		},
		Darts: []pattern.Dart{wedge("dart", "mouth", a, b, apex, 0)},
	}
	got := finished(t, p, nil)
	leg := math.Hypot(half, depth)
	seamPeak := geom.Pt(0, depth-leg/math.Cos(phi))
	cutPeak := geom.Pt(0, depth-(leg+10)/math.Cos(phi))
	if !has(corners(got.Edges[1].Path), seamPeak) {
		t.Errorf("seam line peaks at %v, want %v", corners(got.Edges[1].Path), seamPeak)
	}
	if !has(corners(got.CutLine), cutPeak) {
		t.Errorf("cut line has no peak at %v: %v", cutPeak, corners(got.CutLine))
	}
	// Square to the legs, the cut line runs straight through their ends.
	for _, s := range got.CutLine {
		if s.P0.Near(a.Add(geom.Pt(-10*math.Sin(phi), -10*math.Cos(phi))), 1e-3) {
			t.Errorf("a corner at the leg: %v", s.P0)
		}
	}
}

func TestFinishChangesNothingItIsGiven(t *testing.T) {
	t.Parallel()
	p := testPattern()
	if _, err := finishLettered(p, Rules{}); err != nil {
		t.Fatal(err)
	}
	if len(p.Pieces[1].Edges[4].Path) != 1 || len(p.Pieces[1].Marks) != 1 {
		t.Error("the drafted pattern was written into")
	}
}

// The layers of a dart so wide that the edge beside it does not reach its middle are cut off square
// to that: the mouth is its own mirror image, and ends beyond the legs.
func TestMouthOfAWideDart(t *testing.T) {
	t.Parallel()
	a, b := geom.Pt(-204, 290), geom.Pt(-264, 223)
	m := mouth{dart: "dart", legs: [2]line{{a, geom.Pt(0.434, -0.901)}, {b, geom.Pt(0.943, -0.333)}},
		middle: line{a.Lerp(b, 0.5), b.Sub(a).Right()}}
	path := m.foldOver(geom.Polyline(geom.Pt(-195, 501), a))
	if !path.Start().Near(a, 0.01) || !path.End().Near(b, 0.01) {
		t.Fatalf("from %v to %v, want from %v to %v", path.Start(), path.End(), a, b)
	}
	mirrored := path.Move(m.middle.reflection()).Reverse()
	for i := range 20 {
		at := path.At(path.Length() * float64(i) / 20)
		if _, d, _ := mirrored.Nearest(at); d > 0.05 {
			t.Errorf("%v lies %.2f mm off its mirror image", at, d)
		}
	}
	if d := path.At(path.Length() / 2).Dist(m.middle.at); d < 10 {
		t.Errorf("the layers end %.1f mm from the mouth", d)
	}
}
