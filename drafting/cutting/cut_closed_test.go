package cutting_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// skirtPieces are the loose pieces of a skirt, the front turned so that its centre lies on
// the left.
func skirtPieces(t testing.TB, figure body.Measures) map[string]pattern.Piece {
	t.Helper()
	return piecesOf(t, "skirt", figure, nil)
}

// yokeLine is a line across a skirt, from its centre to its side, both deep mm below the waist.
func yokeLine(p pattern.Piece, deep float64) geom.Path {
	centre := p.Run("waist").Start().Add(geom.Pt(0, deep))
	side := p.Run("side").At(deep)
	reach := centre.Dist(side) / 3
	out := p.Run("side").TangentAt(deep).Right()
	return geom.Path{geom.Cubic(centre, centre.Add(geom.Pt(reach, 0)), side.Add(out.Mul(reach)), side)}
}

// dartNames are the names of a piece's darts.
func dartNames(p pattern.Piece) []string {
	var names []string
	for _, d := range p.Darts {
		names = append(names, d.Name)
	}
	return names
}

// For every body and depth: the yoke has no dart, its waist is the skirt's, nothing is lost at
// the side, both edges of the cut are equal, and no edge has a corner where a dart was closed.
func TestCutClosed(t *testing.T) {
	t.Parallel()
	remnants, ended := 0, 0
	for _, figure := range figures {
		for _, p := range skirtPieces(t, figure) {
			for _, deep := range []float64{45, 70, 95, 120} {
				parts, err := cutting.CutClosed(p, yokeLine(p, deep), "yoke_seam", [2]string{"skirt", "yoke"}, dartNames(p))
				if err != nil {
					t.Fatalf("%s at %g: %v", p.Name, deep, err)
				}
				skirt, yoke := parts[0], parts[1]
				if skirt.EdgeIndex("hem") < 0 {
					skirt, yoke = yoke, skirt
				}
				if len(yoke.Darts) != 0 {
					t.Errorf("%s at %g: the yoke has %v", p.Name, deep, dartNames(yoke))
				}
				remnants += len(skirt.Darts)
				ended += len(p.Darts) - len(skirt.Darts)
				sound(t, skirt)
				sound(t, yoke)
				near(t, p.Name+" waist of the yoke", yoke.RunLength("waist"), p.RunLength("waist"), 0.2)
				near(t, p.Name+" side", yoke.RunLength("side")+skirt.RunLength("side"), p.RunLength("side"), 1e-6)
				tol := 1e-6
				if len(skirt.Darts) < len(p.Darts) {
					tol = 0.2 * float64(len(p.Darts)-len(skirt.Darts))
				}
				near(t, p.Name+" yoke seam", yoke.RunLength("yoke_seam"), skirt.RunLength("yoke_seam"), tol)
				for _, run := range []string{"waist", "yoke_seam"} {
					if turn := sharpest(yoke.Run(run)) * 180 / math.Pi; turn > 1 {
						t.Errorf("%s at %g: the yoke's %s turns by %.1f degrees", p.Name, deep, run, turn)
					}
				}
				whole := p.Outline().Area()
				if lost := whole - yoke.Outline().Area() - skirt.Outline().Area(); lost < -1 || lost > 0.05*whole {
					t.Errorf("%s at %g: the parts are smaller by %.0f mm²", p.Name, deep, lost)
				}
			}
		}
	}
	if remnants == 0 || ended == 0 {
		t.Errorf("%d darts go on below the yoke, %d end at it: want some of each", remnants, ended)
	}
}

// What is left of a dart keeps its point and its width: of a dart 24 mm wide and 120 mm long, cut
// 45 mm below its mouth, 75/120 is left. The two parts laid together at the dart's leg are the
// piece again.
func TestCutClosedKeepsTheDart(t *testing.T) {
	t.Parallel()
	p := square()
	p, err := cutting.AddDart(p, "dart", cutting.Position{Run: "top", At: 100}, 24, geom.Pt(100, 120))
	if err != nil {
		t.Fatal(err)
	}
	d := p.Dart("dart")
	leg := d.Legs[0].Length()
	level := geom.Polyline(geom.Pt(0, 45), geom.Pt(200, 45))
	parts, err := cutting.CutClosed(p, level, "cut", [2]string{"yoke", "rest"}, []string{"dart"})
	if err != nil {
		t.Fatal(err)
	}
	yoke, rest := parts[0], parts[1]
	if yoke.EdgeIndex("top") < 0 {
		yoke, rest = rest, yoke
	}
	left := rest.Dart("dart")
	if left == nil || left.Apexes[0] != d.Apexes[0] {
		t.Fatalf("the rest has %+v", rest.Darts)
	}
	near(t, "its width", left.Intake(), 24*75.0/120, 1e-6)
	near(t, "its legs", left.Legs[0].Length(), leg*75/120, 1e-6)
	near(t, "the edge as sewn", rest.RunLength("cut"), yoke.RunLength("cut"), 1e-9)
	// The yoke turns about its fold: its side leans by the dart's angle.
	angle := 2 * math.Asin(12/leg)
	near(t, "the side leans", math.Abs(geom.AngleBetween(yoke.Run("side").StartTangent(), geom.Pt(0, 1))), angle, 1e-9)
	if !slices.ContainsFunc(yoke.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleFold }) {
		t.Error("the yoke has lost its fold")
	}
}

func TestCutClosedThatCannotBe(t *testing.T) {
	t.Parallel()
	p := square()
	p, err := cutting.AddDart(p, "dart", cutting.Position{Run: "top", At: 100}, 24, geom.Pt(100, 120))
	if err != nil {
		t.Fatal(err)
	}
	low, err := cutting.AddDart(p, "low", cutting.Position{Run: "hem", At: 100}, 24, geom.Pt(100, 200))
	if err != nil {
		t.Fatal(err)
	}
	at := func(y float64) geom.Path { return geom.Polyline(geom.Pt(0, y), geom.Pt(200, y)) }
	for _, c := range []struct {
		p     pattern.Piece
		path  geom.Path
		darts []string
		says  string
	}{
		{p, at(190), []string{"dart"}, "ends 70.0 mm before the cut; at most 60 mm"},
		{p, at(60), []string{"tuck"}, "unknown dart \"tuck\"; the piece has dart"},
		{p, at(60), []string{"dart", "dart"}, "does not lie beside its neighbours"},
		{low, at(150), []string{"dart", "low"}, "opens on the other side of the cut"},
		{p, geom.Polyline(geom.Pt(0, 200), geom.Pt(50, 0)), []string{"dart"}, "does not pass the dart"},
		{p, geom.Polyline(geom.Pt(0, 60), geom.Pt(100, 60), geom.Pt(80, 70), geom.Pt(100, 80), geom.Pt(200, 60)),
			[]string{"dart"}, "must meet each once"},
		{p, geom.Polyline(geom.Pt(0, 60), geom.Pt(150, 60)), []string{"dart"}, "must lie on the outline"},
	} {
		_, err := cutting.CutClosed(c.p, c.path, "cut", [2]string{"yoke", "rest"}, c.darts)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: %v, want %q", c.darts, err, c.says)
		}
	}
}
