package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A pocket over a seam lies, once the pieces are sewn to each other, where one lies that was cut into
// the whole: in pieces cut from it, and in pieces that mirror each other, as a front beside a panel.
func TestPocketOverASeam(t *testing.T) {
	t.Parallel()
	seam := geom.Path{geom.Cubic(geom.Pt(120, 300), geom.Pt(90, 200), geom.Pt(130, 100), geom.Pt(110, 0))}
	parts, err := cutting.CutApart(square(), seam, seam, "panel", [2]string{"front", "side"})
	if err != nil {
		t.Fatal(err)
	}
	middle, beside := parts[0], parts[1]
	if middle.EdgeIndex("fold") < 0 {
		middle, beside = beside, middle
	}
	s := cutting.SetPocket{Kind: cutting.PocketFlaps, At: geom.Pt(60, 150), Width: 110, Slope: 0.1, Depth: 50, Bag: 100}
	want := s.At.Add(geom.Polar(s.Width, s.Slope))
	mirror := geom.Reflect(geom.Pt(300, 0), geom.Pt(0, 1))
	for name, over := range map[string]pattern.Piece{"as sewn": beside, "mirrored": beside.Move(mirror)} {
		first, second, made, err := cutting.CutPocketOver(middle, over, "panel", "pocket", "Pocket", s)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if name == "mirrored" {
			second = second.Move(mirror)
		}
		opening := func(p pattern.Piece) geom.Path { return p.Lines[len(p.Lines)-1].Path }
		near(t, name+": gap at the seam", opening(first).End().Dist(opening(second).Start()), 0, 1e-3)
		near(t, name+": end of the opening", opening(second).End().Dist(want), 0, 1e-3)
		near(t, name+": width", opening(first).Length()+opening(second).Length(), s.Width, 1e-6)
		if hole := second.Marks[len(second.Marks)-1]; hole.Name != "pocket_end" || hole.At.Dist(want) > 1e-3 {
			t.Errorf("%s: a hole %v, want one at %v", name, hole, want)
		}
		if len(made) != 3 {
			t.Errorf("%s: %d parts, want jet, flap and bag", name, len(made))
		}
	}
	for _, c := range []struct {
		at    geom.Point
		width float64
		want  string
	}{
		{geom.Pt(10, 150), 80, "does not cross it"},
		{geom.Pt(60, 150), 200, "outside the piece"},
		{geom.Pt(-5, 150), 150, "5.0 mm outside the piece"},
		{geom.Pt(60, 150), 20, "width"},
	} {
		s := s
		s.At, s.Width = c.at, c.width
		if _, _, _, err := cutting.CutPocketOver(middle, beside, "panel", "pocket", "Pocket", s); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("a pocket at %v, %g wide: %v, want %q", c.at, c.width, err, c.want)
		}
	}
}

// A dart that is eased lengthens its edge by about its mouth, in one curve, and leaves the rest alone.
func TestEaseDart(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		front := blockPieces(t, figure, nil)["front"]
		before := runLengths(front)
		d := front.Darts[0]
		eased, err := cutting.EaseDart(front, d.Name, 40)
		if err != nil {
			t.Fatalf("figure %d: %v", i, err)
		}
		sound(t, eased)
		for run, long := range runLengths(eased) {
			want := before[run]
			if run == "side" {
				want += d.Intake()
			}
			near(t, run, long, want, 4) // the curve is a little shorter than the corner at the dart
		}
		side := eased.Edges[eased.EdgeIndex("side")].Path
		for k := 1; k < len(side); k++ {
			if turn := geom.AngleBetween(side[k-1].Tangent(1), side[k].Tangent(0)); math.Abs(turn) > 0.02 {
				t.Errorf("figure %d: the side turns by %.3f rad", i, turn)
			}
		}
		if eased.Dart(d.Name) != nil {
			t.Errorf("figure %d: the dart is left", i)
		}
	}
}

// An edge is tapered to its width about its middle, and its neighbours end square to it.
func TestTaper(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		sleeve := blockPieces(t, figure, nil)["sleeve"]
		middle := sleeve.Run("hem").Start().Lerp(sleeve.Run("hem").End(), 0.5)
		for _, wide := range []float64{160, 240, 320} {
			got, err := cutting.Taper(sleeve, "hem", wide, 70)
			if err != nil {
				t.Fatalf("figure %d: %v", i, err)
			}
			sound(t, got)
			hem := got.Run("hem")
			near(t, "hem", hem.Length(), wide, 1e-6)
			near(t, "middle of the hem", hem.Start().Lerp(hem.End(), 0.5).Dist(middle), 0, 1e-6)
			for _, side := range []geom.Point{got.Run("underarm_front").EndTangent(),
				got.Run("underarm_back").StartTangent()} {
				near(t, "underarm square to the hem", side.Dot(hem.StartTangent()), 0, 1e-6)
			}
		}
		if _, err := cutting.Taper(sleeve, "hem", 5, 70); err == nil {
			t.Error("a hem of 5 mm is accepted")
		}
		if _, err := cutting.Taper(sleeve, "hem", 200, 499); err == nil {
			t.Error("an underarm is redrawn over more than it is long")
		}
	}
}
