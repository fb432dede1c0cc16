package cutting_test

import (
	"math/rand/v2"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Cut apart and joined again, a piece is what it was.
func TestCutThenJoin(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 4))
	for _, figure := range figures {
		p := blockPieces(t, figure, nil)["back"]
		for _, d := range p.Darts {
			var err error
			if p, err = cutting.Undart(p, d.Name, 0); err != nil {
				t.Fatal(err)
			}
		}
		for range 30 {
			from, _ := cutting.PointAt(p, cutting.Position{Run: "armhole", At: rng.Float64() * p.RunLength("armhole")})
			to, _ := cutting.PointAt(p, cutting.Position{Run: "centre_back",
				At: p.RunLength("centre_back") * (0.55 + 0.4*rng.Float64())})
			bend := geom.Pt(30*rng.Float64(), 40*rng.Float64())
			path := geom.Path{geom.Cubic(from, from.Lerp(to, 0.3).Add(bend), from.Lerp(to, 0.7).Add(bend), to)}
			if len(path.Crossings(p.Outline())) > 2 {
				continue // the cut would leave the piece
			}
			parts, err := cutting.CutApart(p, path, nil, "yoke_seam", [2]string{"lower", "yoke"})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "area of both", parts[0].Outline().Area()+parts[1].Outline().Area(), p.Outline().Area(), 2e-3)
			near(t, "one edge", parts[0].RunLength("yoke_seam"), path.Length(), 1e-4)
			near(t, "other edge", parts[1].RunLength("yoke_seam"), path.Length(), 1e-4)
			sound(t, parts[0])
			sound(t, parts[1])
			whole, err := cutting.Join(parts[0], "yoke_seam", parts[1], "yoke_seam")
			if err != nil {
				t.Fatal(err)
			}
			before := runLengths(p)
			for run, n := range runLengths(whole) {
				near(t, run, n, before[run], 1e-4)
			}
			near(t, "area", whole.Outline().Area(), p.Outline().Area(), 1e-2)
			for _, q := range p.Outline().Flatten(1) {
				if _, d, _ := whole.Outline().Nearest(q); d > 1e-4 {
					t.Fatalf("the outline is %.5f mm away at (%.1f, %.1f)", d, q.X, q.Y)
				}
			}
			if len(whole.Notches) != len(p.Notches) || len(whole.Marks) != len(p.Marks) {
				t.Errorf("%d notches and %d marks, want %d and %d", len(whole.Notches), len(whole.Marks), len(p.Notches),
					len(p.Marks))
			}
		}
	}
}

// A cut with two paths leaves out what lies between them.
func TestCutWithTwoPaths(t *testing.T) {
	t.Parallel()
	// From the hem up, so that the first part is the one with the fold.
	first := geom.Polyline(geom.Pt(100, 300), geom.Pt(90, 150), geom.Pt(100, 0))
	other := geom.Polyline(geom.Pt(100, 300), geom.Pt(110, 150), geom.Pt(100, 0))
	parts, err := cutting.CutApart(square(), first, other, "panel", [2]string{"centre", "side"})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "what falls away", square().Outline().Area()-parts[0].Outline().Area()-parts[1].Outline().Area(), 20*300/2,
		1e-6)
	if !parts[0].Cut.OnFold || parts[1].Cut.OnFold || !parts[1].Cut.Pair || parts[1].Cut.Count != 2 {
		t.Errorf("cut %+v and %+v", parts[0].Cut, parts[1].Cut)
	}
	if len(parts[1].Notches) != 1 || len(parts[1].Marks) != 1 || len(parts[0].Lines) != 1 || len(parts[1].Lines) != 1 {
		t.Errorf("what lies on the parts: %+v %+v", parts[0], parts[1])
	}
}

func TestCutRefuses(t *testing.T) {
	t.Parallel()
	_, err := cutting.CutApart(square(), geom.Polyline(geom.Pt(50, 150), geom.Pt(200, 150)), nil, "cut",
		[2]string{"a", "b"})
	wantError(t, err, "square", "fold")
	back := blockPieces(t, figures[0], nil)["back"]
	waist := back.Lines[1].Path
	_, err = cutting.CutApart(back, geom.Polyline(waist.Start(), waist.End()), nil, "waist", [2]string{"a", "b"})
	wantError(t, err, "back", "waist")
	p, q := square(), square()
	q.Name = "other"
	_, err = cutting.Join(p, "side", q, "top")
	wantError(t, err, "square", "side")
}

func TestUnfold(t *testing.T) {
	t.Parallel()
	p, err := cutting.Unfold(square(), "fold", "left_")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area", p.Outline().Area(), 2*200*300, 1e-6)
	near(t, "hem", p.RunLength("hem"), 400, 1e-9)
	near(t, "top", p.RunLength("top"), 400, 1e-9)
	near(t, "left side", p.RunLength("left_side"), 300, 1e-9)
	if p.Cut.OnFold || len(p.Notches) != 2 || len(p.Marks) != 2 {
		t.Errorf("%+v", p)
	}
	sound(t, p)
	_, err = cutting.Unfold(square(), "neck", "left_")
	wantError(t, err, "square", "")
	for _, figure := range figures {
		back := blockPieces(t, figure, nil)["back"]
		whole, err := cutting.Unfold(back, "centre_back", "left_")
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area of the back", whole.Outline().Area(), 2*back.Outline().Area(), 1e-3)
		near(t, "neckline", whole.RunLength("neckline"), 2*back.RunLength("neckline"), 1e-6)
		if len(whole.Darts) != 2*len(back.Darts) || len(whole.Notches) != 2*len(back.Notches) {
			t.Errorf("%d darts and %d notches", len(whole.Darts), len(whole.Notches))
		}
		sound(t, whole)
	}
}

// Turned over twice a piece is itself; moved it keeps all its lengths.
func TestMove(t *testing.T) {
	t.Parallel()
	for _, p := range blockPieces(t, figures[1], nil) {
		axis := geom.Reflect(geom.Pt(10, 20), geom.Pt(1, 2))
		q := p.Move(axis)
		sound(t, q)
		for run, n := range runLengths(q) {
			near(t, run, n, p.RunLength(run), 1e-6)
		}
		back := q.Move(axis)
		if len(back.Edges) != len(p.Edges) {
			t.Fatal("edges lost")
		}
		for i, e := range back.Edges {
			if e.Name != p.Edges[i].Name || !e.Path.Start().Near(p.Edges[i].Path.Start(), 1e-9) {
				t.Errorf("%s: edge %d is %s at %v", p.Name, i, e.Name, e.Path.Start())
			}
		}
		for i, d := range back.Darts {
			if d.Pressed != p.Darts[i].Pressed || !d.Legs[0].Start().Near(p.Darts[i].Legs[0].Start(), 1e-9) {
				t.Errorf("%s: dart %s changed", p.Name, d.Name)
			}
		}
		for i, n := range back.Notches {
			near(t, "notch", n.At, p.Notches[i].At, 1e-6)
		}
	}
}

// A piece turned over whose first edge is cut by a dart has that edge's parts in
// order, the last first.
func TestMoveOverDartedEdge(t *testing.T) {
	t.Parallel()
	p, err := cutting.AddDart(square(), "dart", cutting.Position{Run: "top", At: 50}, 20, geom.Pt(50, 90))
	if err != nil {
		t.Fatal(err)
	}
	parts := func(p pattern.Piece) (lengths []float64) {
		for _, e := range p.Edges {
			if e.Name == "top" {
				lengths = append(lengths, e.Path.Length())
			}
		}
		return lengths
	}
	over := p.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
	was, is := parts(p), parts(over)
	if len(was) != 2 || len(is) != 2 {
		t.Fatalf("%v parts, turned over %v", was, is)
	}
	for i := range was {
		near(t, "part", is[i], was[1-i], 1e-9)
	}
	back := over.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
	for i, e := range back.Edges {
		if e.Name != p.Edges[i].Name || !e.Path.Start().Near(p.Edges[i].Path.Start(), 1e-9) {
			t.Errorf("edge %d is %s, was %s", i, e.Name, p.Edges[i].Name)
		}
	}
}

// A notch where a piece is cut apart stays on one of the parts, not on both.
func TestCutAtANotch(t *testing.T) {
	t.Parallel()
	parts, err := cutting.CutApart(square(), geom.Polyline(geom.Pt(200, 100), geom.Pt(0, 100)), nil, "cut",
		[2]string{"low", "high"})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(parts[0].Notches) + len(parts[1].Notches); n != 1 {
		t.Errorf("%d notches of one: %v %v", n, parts[0].Notches, parts[1].Notches)
	}
}
