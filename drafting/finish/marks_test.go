package finish

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func TestTicks(t *testing.T) {
	t.Parallel()
	out, err := finishLettered(testPattern(), Rules{Allowances: map[string]float64{"armhole": 7}})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range out.Pieces {
		strokes := make([]int, len(p.Notches))
		for _, tick := range p.Ticks {
			notch := p.Notches[tick.Notch]
			strokes[tick.Notch]++
			e, _ := p.Edge(notch.Edge)
			at, off, along := e.Path.Nearest(tick.Stroke.P0)
			if off > 1e-6 {
				t.Errorf("%s: notch on %s starts %.4f mm off the seam line", p.Name, notch.Edge, off)
			}
			if e.Role == pattern.RoleDartMouth {
				onLeg := false
				for _, d := range p.Darts {
					for _, leg := range d.Legs {
						l := line{leg.Start(), leg.StartTangent()}
						onLeg = onLeg || l.at.Near(tick.Stroke.P0, 1e-6) && math.Abs(l.along.Cross(tick.Stroke.P3.Sub(l.at))) < 1e-6
					}
				}
				if !onLeg {
					t.Errorf("%s: the tick at %v does not continue a leg", p.Name, at)
				}
			} else if turn := geom.AngleBetween(e.Path.TangentAt(along),
				tick.Stroke.Tangent(0)); math.Abs(turn+math.Pi/2) > 1e-3 {
				t.Errorf("%s: notch on %s at %.1f° to the seam line at %v", p.Name, notch.Edge, turn*180/math.Pi, at)
			}
			if _, d, _ := p.CutLine.Nearest(tick.Stroke.P3); d > 2*geom.OffsetTol {
				t.Errorf("%s: notch on %s ends %.3f mm from the cut line", p.Name, notch.Edge, d)
			}
			if c := p.CutLine.Crossings(geom.Path{tick.Stroke.Part(0, 0.98)}); len(c) > 0 {
				t.Errorf("%s: notch on %s crosses the cut line", p.Name, notch.Edge)
			}
		}
		for i, notch := range p.Notches {
			want := 1
			if notch.Kind == pattern.NotchDouble {
				want = 2
			}
			if strokes[i] != want {
				t.Errorf("%s: %s notch on %s has %d strokes", p.Name, notch.Kind, notch.Edge, strokes[i])
			}
		}
	}
	// Darts that open at an edge are notched at both legs.
	for i, dart := range []string{"waist_dart", "side_dart"} {
		n := 0
		for _, notch := range out.Pieces[i].Notches {
			if notch.Edge == dart {
				n++
			}
		}
		if n != 2 {
			t.Errorf("%d notches on %s", n, dart)
		}
	}
	// The double notch of the sleeve's back: 6 mm apart along the seam, about its place.
	sleeve := out.Pieces[2]
	e, _ := sleeve.Edge("cap_back")
	_, _, first := e.Path.Nearest(sleeve.Ticks[0].Stroke.P0)
	_, _, second := e.Path.Nearest(sleeve.Ticks[1].Stroke.P0)
	if math.Abs(first-113) > 1e-3 || math.Abs(second-119) > 1e-3 {
		t.Errorf("double notch at %.3f and %.3f mm, want 113 and 119", first, second)
	}
	// A double notch marked at a corner stays on its edge.
	front := out.Pieces[1]
	for _, tick := range front.Ticks {
		if front.Notches[tick.Notch].Edge == "shoulder" {
			if _, d, along := mustEdge(front, "shoulder").Nearest(tick.Stroke.P0); d > 1e-6 || along > 6+1e-6 {
				t.Errorf("tick at %.2f mm along the shoulder, %.3f off", along, d)
			}
		}
	}
}

func mustEdge(p Piece, name string) geom.Path {
	e, ok := p.Edge(name)
	if !ok {
		panic(name)
	}
	return e.Path
}

// Where there is no allowance to snip the notch is marked inside.
// A notch at a corner reaches the cut line also where the other edge there has
// the wider allowance.
func TestTickBesideAWiderAllowance(t *testing.T) {
	t.Parallel()
	s := pattern.RoleSeam
	p := quad([4]pattern.Role{s, s, s, s}, [4]geom.Point{{}, {X: 100}, {X: 110, Y: 200}, {X: 113, Y: 215}})
	p.Notches = []pattern.Notch{{Edge: p.Edges[2].Name, Kind: pattern.NotchSingle}}
	out, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{p}},
		Rules{Allowances: map[string]float64{p.Edges[1].Name: 14, p.Edges[2].Name: 10}})
	if err != nil {
		t.Fatal(err)
	}
	q := out.Pieces[0]
	stroke := q.Ticks[0].Stroke
	if _, d, _ := q.CutLine.Nearest(stroke.P3); d > geom.OffsetTol || stroke.Length() < 10 || stroke.Length() > 1.25*14 {
		t.Errorf("a stroke of %.2f mm ends %.3f mm from the cut line", stroke.Length(), d)
	}
}

func TestTickWithoutAllowance(t *testing.T) {
	t.Parallel()
	p := finished(t, bodiceFront(), map[string]float64{"armhole": 0})
	for _, tick := range p.Ticks {
		if p.Notches[tick.Notch].Edge == "armhole" && (!p.Outline().Contains(tick.Stroke.P3) || tick.Stroke.Length() < 3) {
			t.Errorf("tick from %v to %v", tick.Stroke.P0, tick.Stroke.P3)
		}
	}
}

func TestDrills(t *testing.T) {
	t.Parallel()
	p := finished(t, bodiceFront(), nil)
	// Bust dart: 3 mm from its apex. Waist dart: its two points, and its legs at the waist.
	if len(p.Drills) != 5 {
		t.Fatalf("%d drill holes: %v", len(p.Drills), p.Drills)
	}
	if got := p.Drills[0].Dist(geom.Pt(112, 218)); math.Abs(got-3) > 1e-9 {
		t.Errorf("bust dart drilled %.3f mm from its point", got)
	}
	d := p.Darts[0]
	for _, leg := range d.Legs {
		if _, off, _ := leg.Nearest(p.Drills[0]); off < 0.1 {
			t.Errorf("bust dart drilled on its leg")
		}
	}
	for _, want := range []geom.Point{{X: 92, Y: 249}, {X: 92, Y: 507}, {X: 83, Y: 410}, {X: 101, Y: 410}} {
		if !has(p.Drills, want) {
			t.Errorf("no hole at %v: %v", want, p.Drills)
		}
	}
	points := 0
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkDrill {
			points++
		}
	}
	if points != 3 || len(p.Marks) != 4 {
		t.Errorf("%d marks, %d of them dart points, want 4 and 3", len(p.Marks), points)
	}
}

func TestFoldBracket(t *testing.T) {
	t.Parallel()
	for _, piece := range []pattern.Piece{skirtFront(), bodiceFront()} {
		p := finished(t, piece, nil)
		if len(p.Brackets) != 1 {
			t.Fatalf("%d brackets", len(p.Brackets))
		}
		b := p.Brackets[0]
		fold := mustEdge(p, "centre_front")
		for _, end := range []geom.Point{b.Start(), b.End()} {
			if _, d, _ := fold.Nearest(end); d > 1e-9 {
				t.Errorf("bracket ends %.3f mm off the fold", d)
			}
			pointing := false
			for _, a := range p.Arrows {
				pointing = pointing || a.Start().Near(end, 1e-9) && a.Closed()
			}
			if !pointing {
				t.Errorf("no arrow head at %v", end)
			}
		}
		for _, s := range b[1:2] {
			if !p.Outline().Contains(s.At(0)) || !p.Outline().Contains(s.At(1)) {
				t.Error("bracket outside the piece")
			}
		}
	}
	// Half a belt 9 mm wide: the bracket moves in to stay on it.
	s, f := pattern.RoleSeam, pattern.RoleFold
	p := finished(t, quad([4]pattern.Role{s, s, s, f}, [4]geom.Point{{}, {X: 9}, {X: 9, Y: 500}, {Y: 500}}), nil)
	for _, q := range p.Brackets[0].Flatten(1) {
		if q.X > 9 {
			t.Errorf("bracket at %v outside a belt 9 mm wide", q)
		}
	}
	// A piece on the fold along two sides has two.
	p = finished(t, quad([4]pattern.Role{f, s, s, f}, [4]geom.Point{{}, {X: 200}, {X: 200, Y: 200}, {Y: 200}}), nil)
	if len(p.Brackets) != 2 {
		t.Errorf("%d brackets on two folds", len(p.Brackets))
	}
}
