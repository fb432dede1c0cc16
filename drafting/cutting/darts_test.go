package cutting_test

import (
	"math"
	"slices"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func bustPoint(t *testing.T, p pattern.Piece) geom.Point {
	t.Helper()
	for _, k := range p.Marks {
		if k.Kind == pattern.MarkBustPoint {
			return k.At
		}
	}
	t.Fatal("no bust point")
	return geom.Point{}
}

func dartAngle(p pattern.Piece, about geom.Point) float64 {
	d := p.Darts[len(p.Darts)-1]
	return geom.AngleBetween(d.Legs[0].Start().Sub(about), d.Legs[1].Start().Sub(about))
}

// A dart moved round the bust point keeps every seam's length and its own
// angle, and moved back it gives the piece again.
func TestMoveDart(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		front := blockPieces(t, figure, nil)["front"]
		for _, d := range front.Darts {
			if d.Mouth == "" {
				var err error
				if front, err = cutting.Undart(front, d.Name, 0); err != nil {
					t.Fatal(err)
				}
			}
		}
		at := bustPoint(t, front)
		before := runLengths(front)
		angle := dartAngle(front, at)
		home := front.Darts[0]
		side := geom.Path{}
		for _, e := range front.Edges { // the side's first part ends at the mouth
			if e.Name == "side" {
				side = e.Path
				break
			}
		}
		moved := front
		waist, err := cutting.PointAt(front, cutting.Position{Run: "side",
			At: front.Notches[slices.IndexFunc(front.Notches, func(n pattern.Notch) bool { return n.Edge == "side" })].At})
		if err != nil {
			t.Fatal(err)
		}
		for _, to := range []cutting.Position{
			{Run: "shoulder", At: 60}, {Run: "neckline", At: 40}, {Run: "armhole", At: 80}, {Run: "hem", At: 100}, {Run: "side",
				At: side.Length()},
		} {
			var err error
			if moved, err = cutting.MoveDart(moved, "bust_dart", to, at); err != nil {
				t.Fatalf("figure %d to %v: %v", i, to, err)
			}
			// The waist notch lies below every dart but that in the hem.
			if k := slices.IndexFunc(moved.Notches, func(n pattern.Notch) bool { return n.Edge == "side" }); to.Run != "hem" {
				got, err := cutting.PointAt(moved, cutting.Position{Run: "side", At: moved.Notches[k].At})
				if err != nil {
					t.Fatal(err)
				}
				near(t, "the side's notch with the dart in "+to.Run, got.Dist(waist), 0, 1e-4)
			}
			for run, n := range runLengths(moved) {
				near(t, "length of "+run+" with the dart in "+to.Run, n, before[run], 1e-6)
			}
			near(t, "angle", dartAngle(moved, at), angle, 1e-9)
			sound(t, moved)
		}
		got := moved.Darts[0]
		for k := range 2 {
			if d := got.Legs[k].Start().Dist(home.Legs[k].Start()); d > 1e-6 {
				t.Errorf("figure %d: moved back, leg %d starts %.6f mm away", i, k, d)
			}
		}
		near(t, "area", moved.Outline().Area(), front.Outline().Area(), 1e-3)
	}
}

func TestMoveDartRefuses(t *testing.T) {
	t.Parallel()
	front := blockPieces(t, figures[0], nil)["front"]
	at := bustPoint(t, front)
	_, err := cutting.MoveDart(front, "waist_dart", cutting.Position{Run: "hem", At: 50}, at)
	wantError(t, err, "front", "")
	_, err = cutting.MoveDart(front, "bust_dart", cutting.Position{Run: "hem", At: 5000}, at)
	wantError(t, err, "front", "hem")
	_, err = cutting.MoveDart(front, "bust_dart", cutting.Position{Run: "cuff", At: 50}, at)
	wantError(t, err, "front", "")
	_, err = cutting.MoveDart(front, "bust_dart", cutting.Position{Run: "shoulder", At: 50}, at.Add(geom.Pt(0, 40)))
	wantError(t, err, "front", "bust_dart_mouth")
}

// A dart given up makes its edge longer by its mouth; as a pleat its ends are
// notched and its fold lines drawn.
func TestUndart(t *testing.T) {
	t.Parallel()
	back := blockPieces(t, figures[0], nil)["back"]
	mouth, _ := back.Edge("shoulder_dart_mouth")
	before := back.RunLength("shoulder")
	eased, err := cutting.Undart(back, "shoulder_dart", 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shoulder", eased.RunLength("shoulder"), before+mouth.Path.Length(), 1e-9)
	sound(t, eased)
	pleated, err := cutting.Undart(back, "shoulder_dart", 40)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "notches", float64(len(pleated.Notches)), float64(len(back.Notches)+2), 0)
	near(t, "lines", float64(len(pleated.Lines)), float64(len(back.Lines)+2), 0)
	near(t, "fold line", pleated.Lines[len(pleated.Lines)-1].Path.Length(), 40, 1e-6)
	_, err = cutting.Undart(back, "bust_dart", 0)
	wantError(t, err, "back", "")
}

func TestAddDart(t *testing.T) {
	t.Parallel()
	p, err := cutting.AddDart(square(), "hem_dart", cutting.Position{Run: "hem", At: 80}, 20, geom.Pt(130, 200))
	if err != nil {
		t.Fatal(err)
	}
	d := p.Darts[0]
	near(t, "legs", d.Legs[0].Length(), d.Legs[1].Length(), 1e-6)
	near(t, "width", d.Legs[0].Start().Dist(d.Legs[1].Start()), 20, 1e-6)
	near(t, "hem", p.RunLength("hem"), 180, 1e-6)
	sound(t, p)
	_, err = cutting.AddDart(square(), "d", cutting.Position{Run: "hem", At: 5}, 20, geom.Pt(130, 200))
	wantError(t, err, "square", "hem")
	_, err = cutting.AddDart(square(), "d", cutting.Position{Run: "hem", At: 80}, 20, geom.Pt(130, 400))
	wantError(t, err, "square", "hem")
}

// An inner dart takes its width in at its level and nothing beyond its points, and must lie in
// the piece.
func TestAddInnerDart(t *testing.T) {
	t.Parallel()
	p, err := cutting.AddInnerDart(square(), "waist_dart", geom.Pt(100, 150), 24, 80, 60)
	if err != nil {
		t.Fatal(err)
	}
	for y, want := range map[float64]float64{150: 176, 110: 188, 180: 188, 60: 200, 250: 200} {
		if got := cutting.WidthAt(p, y); math.Abs(got-want) > 1e-6 {
			t.Errorf("%g mm down the piece is %.3f mm wide, want %g", y, got, want)
		}
	}
	for name, at := range map[string]geom.Point{"at the side": geom.Pt(5, 150), "at the foot": geom.Pt(100, 260),
		"outside": geom.Pt(400, 100)} {
		if _, err := cutting.AddInnerDart(square(), "waist_dart", at, 24, 80, 60); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := cutting.AddInnerDart(p, "waist_dart", geom.Pt(50, 150), 24, 80, 60); err == nil {
		t.Error("two darts of one name: no error")
	}
}

// Where the centre is a seam, a dart that moves turns the other part: the centre stays on the grain, wherever
// the grain line is drawn.
func TestMoveDartKeepsTheCentre(t *testing.T) {
	t.Parallel()
	front := blockPieces(t, figures[1], nil)["front"]
	i := slices.IndexFunc(front.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleFold })
	front.Edges[i].Role = pattern.RoleSeam
	centre := front.Edges[i].Path
	at := bustPoint(t, front)
	for _, x := range []float64{0.2, 0.8} {
		front = cutting.GrainThrough(front, geom.Pt(0, 1), geom.Pt(x*front.Outline().Bounds().Width(), at.Y+30))
		for _, to := range []cutting.Position{{Run: "shoulder", At: 60}, {Run: "hem", At: 100}, {Run: "armhole", At: 40}} {
			p, err := cutting.MoveDart(front, "bust_dart", to, at)
			if err != nil {
				t.Fatal(err)
			}
			if moved := p.Run(front.Edges[i].Name); !moved.Start().Near(centre.Start(), 1e-6) ||
				!moved.End().Near(centre.End(), 1e-6) {
				t.Errorf("moved to the %s the centre runs from %v to %v, was %v to %v", to.Run, moved.Start(), moved.End(),
					centre.Start(), centre.End())
			}
		}
	}
}
