package cutting_test

import (
	"math"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A hem rises by the share of the length below the line times the square of the sine of
// twice the angle of the grain: the whole share on the true bias, nothing along and across
// the grain.
func TestBiasDrop(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ degrees, rises float64 }{
		{0, 0}, {15, 2.5}, {22.5, 5}, {45, 10}, {-45, 10}, {67.5, 5}, {90, 0}, {135, 10},
	} {
		p := cutting.GrainAlong(named("a", square()), geom.Polar(1, math.Pi/2-c.degrees*math.Pi/180))
		q, err := cutting.BiasDrop(p, "hem", 0.05, "waist") // the waist lies 200 mm above the hem
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the side", p.RunLength("side")-q.RunLength("side"), c.rises, 1e-6)
		near(t, "the fold", p.RunLength("fold")-q.RunLength("fold"), c.rises, 1e-6)
		near(t, "the hem", q.RunLength("hem"), p.RunLength("hem"), 1e-6)
		sound(t, q)
	}
}

// A sector of a circle with its grain down the middle keeps its hem there and at 90
// degrees from it, and rises most where it hangs at 45 degrees.
func TestBiasDropOfACircle(t *testing.T) {
	t.Parallel()
	const waist, hem, share = 100.0, 600.0, 0.04
	p := circle(waist, hem)
	q, err := cutting.BiasDrop(p, "hem", share, "hip")
	if err != nil {
		t.Fatal(err)
	}
	sound(t, q)
	path := q.Run("hem")
	for k := range 91 {
		at := path.At(path.Length() * float64(k) / 90)
		from := math.Atan2(at.X, at.Y) // straight down is the grain
		want := hem - share*(hem-200)*math.Pow(math.Sin(2*from), 2)
		near(t, "distance from the centre", at.Norm(), want, 0.15)
	}
}

// circle is a quarter of a circle, its grain along one of its straight edges.
func circle(waist, hem float64) pattern.Piece {
	ring := func(r float64) geom.Path { return geom.Arc(geom.Point{}, r, 0, math.Pi/2) }
	upper, lower := ring(waist), ring(hem)
	edge := func(name string, role pattern.Role, path geom.Path) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: path}
	}
	return pattern.Piece{
		Name: "skirt", Title: "Skirt", Cut: pattern.Cut{Count: 2, Pair: true},
		Edges: []pattern.Edge{
			edge("waist", pattern.RoleSeam, upper.Reverse()),
			edge("side", pattern.RoleSeam, geom.Polyline(upper.Start(), lower.Start())),
			edge("hem", pattern.RoleHem, lower),
			edge("centre", pattern.RoleSeam, geom.Polyline(lower.End(), upper.End())),
		},
		Lines: []pattern.Line{{Name: "hip", Path: ring(200)}},
		Grain: geom.Line(geom.Pt(10, 200), geom.Pt(10, 500)),
	}
}

func TestBiasDropErrors(t *testing.T) {
	t.Parallel()
	low := named("a", square())
	low.Lines = []pattern.Line{{Name: "waist", Path: geom.Polyline(geom.Pt(0, 320), geom.Pt(200, 320))}}
	bare := named("a", square())
	bare.Grain = geom.Segment{}
	for _, c := range []struct {
		name  string
		piece pattern.Piece
		hem   string
		share float64
		below string
	}{
		{"more than cloth drops", named("a", square()), "hem", 0.3, "waist"},
		{"less than nothing", named("a", square()), "hem", -0.01, "waist"},
		{"not a number", named("a", square()), "hem", math.NaN(), "waist"},
		{"unknown line", named("a", square()), "hem", 0.03, "knee"},
		{"line below the hem", low, "hem", 0.03, "waist"},
		{"no grain", bare, "hem", 0.03, "waist"},
	} {
		_, err := cutting.BiasDrop(c.piece, c.hem, c.share, c.below)
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		wantError(t, err, "a", c.hem)
	}
	_, err := cutting.BiasDrop(named("a", square()), "cuff", 0.03, "waist")
	wantError(t, err, "a", "")
}

// A godet's straight edges are as long as the slit, and its hem adds the width.
func TestGodet(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ slit, width float64 }{{300, 240}, {50, 20}, {187.3, 500}, {450, 1413}, {1500, 90}} {
		p, err := cutting.Godet("godet", "Godet", c.slit, c.width)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "left", p.RunLength("left"), c.slit, 1e-6)
		near(t, "right", p.RunLength("right"), c.slit, 1e-6)
		near(t, "hem", p.RunLength("hem"), c.width, 0.1)
		near(t, "area", p.Outline().Area(), c.slit*c.width/2, 0.001*c.slit*c.width)
		left, right := p.Run("left"), p.Run("right")
		chord := 2 * c.slit * math.Sin(c.width/c.slit/2)
		near(t, "chord", left.Start().Dist(right.End()), chord, 1e-3)
		for _, square := range []float64{
			p.Run("hem").StartTangent().Dot(right.EndTangent()), p.Run("hem").EndTangent().Dot(left.StartTangent()),
		} {
			near(t, "hem off square", square, 0, 1e-3)
		}
		sound(t, p)
	}
	for _, c := range []struct{ slit, width float64 }{{20, 100}, {2000, 100}, {300, 5}, {300, 943}, {300, math.NaN()}} {
		_, err := cutting.Godet("godet", "Godet", c.slit, c.width)
		if err == nil {
			t.Errorf("slit %g, width %g: no error", c.slit, c.width)
			continue
		}
		wantError(t, err, "godet", "")
	}
}

// An edge in which a dart opens is divided above the dart, or below it, and keeps the
// dart.
func TestSplitEdgeBesideADart(t *testing.T) {
	t.Parallel()
	p := blockPieces(t, figures[1], nil)["front"] // its bust dart opens in the side
	whole := p.RunLength("side")
	dart := p.Dart("bust_dart")
	mouth := p.Edges[p.EdgeIndex(dart.Mouth)].Path
	above := p.Edges[p.EdgeIndex("side")].Path.Length()
	for _, at := range []float64{above / 2, above + 100, whole - 50} {
		q, err := cutting.SplitEdge(p, cutting.Position{Run: "side", At: at}, "upper", "lower")
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the upper part", q.RunLength("upper"), at, 1e-6)
		near(t, "the lower part", q.RunLength("lower"), whole-at, 1e-6)
		near(t, "the dart's mouth", q.Edges[q.EdgeIndex(dart.Mouth)].Path.Length(), mouth.Length(), 1e-9)
		if len(q.Notches) != len(p.Notches) {
			t.Errorf("split at %.0f: %d notches, want %d", at, len(q.Notches), len(p.Notches))
		}
		sound(t, q)
	}
	_, err := cutting.SplitEdge(p, cutting.Position{Run: "side", At: above}, "upper", "lower")
	wantError(t, err, "front", "side")
}
