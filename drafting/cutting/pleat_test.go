package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

// A pleat takes its width from the edge as sewn and nothing else: its ends lie
// where they were asked for, its legs are parallel, and the arrow points from
// the line that is laid to the line it is laid on.
func TestAddPleat(t *testing.T) {
	t.Parallel()
	for _, toStart := range []bool{false, true} {
		p := named("a", square())
		before := p.RunLength("side")
		q, err := cutting.AddPleat(p, knife("pleat", "side", 90, toStart))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the side as sewn", q.RunLength("side"), before-24, 1e-9)
		d := q.Dart("pleat")
		mouth := q.Edges[q.EdgeIndex(d.Mouth)].Path
		near(t, "width", mouth.Length(), 24, 1e-9)
		whole := p.Edges[p.EdgeIndex("side")].Path
		near(t, "the pleat's start", mouth.Start().Dist(whole.At(90)), 0, 1e-9)
		for _, leg := range d.Legs {
			near(t, "depth", leg.Length(), 60, 1e-9)
			near(t, "angle to the edge", math.Abs(leg.StartTangent().Dot(mouth.StartTangent())), 0, 1e-9)
		}
		if len(d.Apexes) != 0 {
			t.Error("a pleat has an apex")
		}
		from, to := mouth.Start(), mouth.End()
		if toStart {
			from, to = to, from
		}
		arrow := q.Lines[len(q.Lines)-1].Path
		in := d.Legs[0].StartTangent().Mul(30)
		near(t, "the arrow's tail", arrow[0].P0.Dist(from.Add(in)), 0, 1e-9)
		near(t, "the arrow's tip", arrow[0].P3.Dist(to.Add(in)), 0, 1e-9)
		// The folded layers lie under the part beside the line that is laid.
		if got := d.Pressed == 1; got != toStart {
			t.Errorf("to start %t: pressed over leg %d", toStart, d.Pressed)
		}
		sound(t, q)
		second, err := cutting.AddPleat(q, knife("other", "side", 120, toStart))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the side with two pleats", second.RunLength("side"), before-48, 1e-9)
		sound(t, second)
	}
}

// The seam that takes a pleated edge is as long as the edge as sewn, and its
// other side has a notch where the pleat lies.
func TestPleatedEdgeMeetsItsSeam(t *testing.T) {
	t.Parallel()
	a, err := cutting.AddPleat(named("a", square()), knife("pleat", "side", 90, false))
	if err != nil {
		t.Fatal(err)
	}
	b, err := cutting.Level(named("b", square()), "side", "hem", a.RunLength("side"))
	if err != nil {
		t.Fatal(err)
	}
	pieces, seams, errs := cutting.Assemble([]pattern.Piece{a, b}, []cutting.Pairing{{
		A: []pattern.EdgeRef{{Piece: "a", Edge: "side"}}, B: []pattern.EdgeRef{{Piece: "b", Edge: "side"}}, SameWay: true}})
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	for _, s := range seams {
		near(t, "ease of "+s.A.String(), s.Ease, 0, pattern.SeamTol)
	}
	found := false
	for _, n := range pieces[1].Notches {
		if i := pieces[1].EdgeIndex(n.Edge); n.Name == "pleat" {
			found = true
			near(t, "the pleat's place", pieces[1].Edges[i].Path.At(n.At).Dist(b.Run("side").At(90)), 0, pattern.NotchTol)
		}
	}
	if !found {
		t.Errorf("no notch where the pleat comes: %+v", pieces[1].Notches)
	}
}

func TestPleatThatDoesNotFit(t *testing.T) {
	t.Parallel()
	p := named("a", square())
	for _, c := range []struct {
		at           cutting.Position
		width, depth float64
		says         string
	}{
		{cutting.Position{Run: "side", At: p.RunLength("side") - 10}, 24, 60, "does not fit on its"},
		{cutting.Position{Run: "side", At: -5}, 24, 60, "does not fit on its"},
		{cutting.Position{Run: "side", At: 90}, 0, 60, "does not fit on its"},
		{cutting.Position{Run: "side", At: 90}, 24, 5000, "would reach out of the piece"},
		{cutting.Position{Run: "nowhere", At: 90}, 24, 60, "nowhere"},
	} {
		if _, err := cutting.AddPleat(p, cutting.Pleat{Name: "pleat", At: c.at, Width: c.width, Depth: c.depth,
			Foot: c.width}); err == nil ||
			!strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c, err, c.says)
		}
	}
	q, err := cutting.AddPleat(p, knife("pleat", "side", 90, false))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := cutting.AddPleat(q, knife("pleat", "hem", 90, false)); err == nil {
		t.Error("two pleats of one name")
	}
}

// knife is a pleat 24 mm wide and 60 mm deep.
func knife(name, run string, at float64, toStart bool) cutting.Pleat {
	return cutting.Pleat{Name: name, At: cutting.Position{Run: run, At: at}, Width: 24, Depth: 60, Foot: 24,
		ToStart: toStart}
}
