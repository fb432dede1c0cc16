package cutting_test

import (
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// An empty dart is moved, cut through and removed like any other, and no edge
// of the piece changes.
func TestEmptyDart(t *testing.T) {
	t.Parallel()
	p := square()
	names := p.Runs()
	top := p.Run(names[0])
	pivot := geom.Pt(50, 50)
	p.Darts = []pattern.Dart{pattern.EmptyDart("bust_dart", top.At(30), pivot)}
	moved, err := cutting.MoveDart(p, "bust_dart", cutting.Position{Run: names[2], At: 40}, pivot)
	if err != nil {
		t.Fatal(err)
	}
	d := moved.Dart("bust_dart")
	if d == nil || !d.Empty() || d.Intake() != 0 {
		t.Fatalf("moved dart %+v, want an empty one", d)
	}
	if at := p.Run(names[2]).At(40); !d.Legs[0].Start().Near(at, 1e-9) {
		t.Errorf("it starts at %v, want %v", d.Legs[0].Start(), at)
	}
	if got, want := moved.Outline(), p.Outline(); got.Length() != want.Length() || got.Area() != want.Area() {
		t.Error("moving an empty dart changed the outline")
	}
	if _, err := cutting.MoveDart(p, "bust_dart", cutting.Position{Run: "none", At: 40}, pivot); err == nil {
		t.Error("moved to an edge that the piece does not have")
	}
	gone, err := cutting.Undart(moved, "bust_dart", 40)
	if err != nil || len(gone.Darts) != 0 || len(gone.Lines) != len(p.Lines) {
		t.Errorf("removed: %v, darts %v, lines %v", err, gone.Darts, gone.Lines)
	}
	across := geom.Polyline(top.At(30), pivot, p.Run(names[2]).At(40))
	for _, through := range [][]string{{"bust_dart"}, nil} {
		parts, err := cutting.CutApart(p, across, nil, "panel", [2]string{"a", "b"}, through...)
		if err != nil {
			t.Errorf("cut through %v: %v", through, err)
		} else if a, b := parts[0].RunLength("panel"), parts[1].RunLength("panel"); a != b {
			t.Errorf("the seam is %g and %g mm long", a, b)
		}
	}
}
