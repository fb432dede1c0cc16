package cutting_test

import (
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

func TestDrop(t *testing.T) {
	t.Parallel()
	for _, figure := range figures {
		front := blockPieces(t, figure, nil)["front"]
		before := runLengths(front)
		p, err := cutting.Drop(front, "neckline", map[string]float64{"centre_front": 40, "shoulder": 15})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "centre", p.RunLength("centre_front"), before["centre_front"]-40, 1e-6)
		near(t, "shoulder", p.RunLength("shoulder"), before["shoulder"]-15, 1e-6)
		near(t, "neckline leaves the centre square", p.Run("neckline").StartTangent().Y,
			front.Run("neckline").StartTangent().Y, 0.02)
		sound(t, p)
		p, err = cutting.Drop(front, "hem", map[string]float64{"centre_front": -100, "side": -100})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "side", p.RunLength("side"), before["side"]+100, 1e-6)
		near(t, "centre", p.RunLength("centre_front"), before["centre_front"]+100, 1e-6)
		sound(t, p)
	}
	_, err := cutting.Drop(square(), "hem", map[string]float64{"top": 10})
	wantError(t, err, "square", "hem")
	_, err = cutting.Drop(square(), "hem", map[string]float64{"side": 300})
	wantError(t, err, "square", "side")
	_, err = cutting.Drop(blockPieces(t, figures[0], nil)["front"], "side", map[string]float64{"hem": 10})
	wantError(t, err, "front", "side")
}

// Levelled seams are equal.
func TestLevel(t *testing.T) {
	t.Parallel()
	for _, figure := range figures {
		pieces := blockPieces(t, figure, nil)
		for _, to := range []float64{-60, -1, 0, 7.5, 80} {
			want := pieces["front"].RunLength("side") + to
			p, err := cutting.Level(pieces["back"], "side", "hem", want)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "side", p.RunLength("side"), want, 1e-4)
			sound(t, p)
		}
	}
}

func TestRedraw(t *testing.T) {
	t.Parallel()
	// Two edges at once, the first starting on the straight continuation of the
	// top, the second ending inside the fold.
	p, err := cutting.Redraw(square(), []string{"side", "hem"}, []geom.Path{
		geom.Polyline(geom.Pt(230, 0), geom.Pt(260, 280)), geom.Polyline(geom.Pt(260, 280), geom.Pt(0, 250)),
	})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "top", p.RunLength("top"), 230, 1e-9)
	near(t, "fold", p.RunLength("fold"), 250, 1e-9)
	sound(t, p)
	for _, tt := range []struct {
		name string
		runs []string
		path []geom.Path
		edge string
	}{
		{"off its neighbour", []string{"side"}, []geom.Path{geom.Polyline(geom.Pt(200, -20), geom.Pt(200, 300))}, "side"},
		{"not neighbours", []string{"side", "fold"}, []geom.Path{geom.Polyline(geom.Pt(200, 0), geom.Pt(200, 300)),
			geom.Polyline(geom.Pt(200, 300), geom.Pt(0, 0))}, "fold"},
		{"a gap between", []string{"side", "hem"}, []geom.Path{geom.Polyline(geom.Pt(200, 0), geom.Pt(200, 300)),
			geom.Polyline(geom.Pt(200, 310), geom.Pt(0, 300))}, "hem"},
		{"an empty path", []string{"side"}, []geom.Path{nil}, "side"},
	} {
		_, err := cutting.Redraw(square(), tt.runs, tt.path)
		t.Log(tt.name, err)
		wantError(t, err, "square", tt.edge)
	}
	_, err = cutting.Redraw(square(), []string{"neck"}, []geom.Path{geom.Polyline(geom.Pt(0, 0), geom.Pt(1, 1))})
	wantError(t, err, "square", "")
}

func TestTrueUp(t *testing.T) {
	t.Parallel()
	p, err := cutting.Redraw(square(), []string{"side", "hem"}, []geom.Path{
		geom.Polyline(geom.Pt(200, 0), geom.Pt(260, 280)), geom.Polyline(geom.Pt(260, 280), geom.Pt(0, 300)),
	})
	if err != nil {
		t.Fatal(err)
	}
	if p, err = cutting.TrueUp(p, "hem"); err != nil {
		t.Fatal(err)
	}
	near(t, "square to the side", p.Run("side").EndTangent().Dot(p.Run("hem").StartTangent()), 0, 1e-9)
	near(t, "square to the fold", p.Run("fold").StartTangent().Dot(p.Run("hem").EndTangent()), 0, 1e-9)
	sound(t, p)
}

// An edge extended lies so far out, its neighbours straight on.
func TestExtend(t *testing.T) {
	t.Parallel()
	p, err := cutting.Extend(square(), "fold", 40, "centre")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area", p.Outline().Area(), 240*300, 1e-6)
	near(t, "top", p.RunLength("top"), 240, 1e-9)
	if p.Cut.OnFold || !p.Cut.Pair || p.Lines[len(p.Lines)-1].Name != "centre" {
		t.Errorf("%+v", p)
	}
	sound(t, p)
	q, err := cutting.FoldOut(p, "fold", 60, "fold_line")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area with its facing", q.Outline().Area(), 300*300, 1e-6)
	near(t, "facing's top", q.RunLength("facing_top"), 60, 1e-6)
	near(t, "facing's edge", q.RunLength("facing_edge"), 300, 1e-6)
	sound(t, q)
	front := blockPieces(t, figures[0], nil)["front"]
	wide, err := cutting.Extend(front, "centre_front", 18, "centre")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hem", wide.RunLength("hem"), front.RunLength("hem")+18, 0.05)
	sound(t, wide)
}

// A facing follows its edge at its width.
func TestFacing(t *testing.T) {
	t.Parallel()
	for _, figure := range figures {
		front := blockPieces(t, figure, nil)["front"]
		p, err := cutting.Facing(front, cutting.FacingShape{Runs: []string{"neckline"}, Width: 55}, "facing", "Facing")
		if err != nil {
			t.Fatal(err)
		}
		neck := front.Run("neckline")
		near(t, "neckline", p.RunLength("neckline"), neck.Length(), 1e-6)
		for _, q := range p.Run("inner").Flatten(1) {
			if _, d, _ := neck.Nearest(q); d < 55-0.05 || d > 55+6 { // more only beyond the edge's end
				t.Errorf("inner edge %.2f mm from the neckline at %v", d, q)
			}
		}
		sound(t, p)
	}
	_, err := cutting.Facing(square(), cutting.FacingShape{Runs: []string{"top", "hem"}, Width: 30}, "f", "F")
	wantError(t, err, "square", "hem")
	_, err = cutting.Facing(square(), cutting.FacingShape{Runs: []string{"top"}, Width: 400}, "f", "F")
	wantError(t, err, "square", "top")
}

// A hem raised above a level line takes the line away; one it crosses is cut there.
func TestDropCutsLines(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		side, fold float64
		want       float64 // length of what is left of the waist, 200 mm below the hem
	}{{100, 100, 200}, {250, 250, 0}, {150, 250, 100}} {
		p, err := cutting.Drop(square(), "hem", map[string]float64{"side": c.side, "fold": c.fold})
		if err != nil {
			t.Fatal(err)
		}
		left := 0.0
		for _, l := range p.Lines {
			left += l.Path.Length()
		}
		near(t, "waist", left, c.want, 1e-6)
	}
}
