package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

// A zip opens an edge from above, whichever way it runs; notches near its end are removed.
func TestOpenForZip(t *testing.T) {
	t.Parallel()
	p := square()
	p.Notches = []pattern.Notch{{Edge: "side", At: 190}, {Edge: "side", At: 50}}
	for edge, want := range map[string]float64{"side": 180, "fold": 120} { // the side runs down, the fold up
		q, err := cutting.OpenForZip(p, edge, 180, 20, "zip end")
		if err != nil {
			t.Fatal(err)
		}
		var at []float64
		for _, n := range q.Notches {
			if n.Edge == edge && n.Kind == pattern.NotchDouble && n.Name == "zip end" {
				at = append(at, n.At)
			}
			if n.Edge == "side" && n.At == 190 && edge == "side" {
				t.Error("the notch 10 mm from the zip's end is still there")
			}
		}
		if len(at) != 1 || math.Abs(at[0]-want) > 1e-9 {
			t.Errorf("%s: the zip ends at %v, want %.0f", edge, at, want)
		}
		if a := q.Edges[q.EdgeIndex(edge)].Allowance; a == nil || *a != 20 {
			t.Errorf("%s: allowance %v, want 20", edge, a)
		}
	}
	if p.Edges[p.EdgeIndex("side")].Allowance != nil || len(p.Notches) != 2 {
		t.Error("the piece that was given changed")
	}
	if _, err := cutting.OpenForZip(p, "side", 295, 20, ""); err == nil ||
		!strings.Contains(err.Error(), "zip 295.0 mm; must be from 20 to 290 mm") {
		t.Errorf("a zip to the hem: %v", err)
	}
}

// A rib band is a share of its edge, but no shorter than what passes it and no longer than the edge.
func TestRibBand(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		shape   cutting.RibShape
		long    float64
		notches []float64
	}{
		{cutting.RibShape{Edge: 400, Width: 60, Share: 0.85}, 340, []float64{85, 170, 255}},
		{cutting.RibShape{Edge: 400, Width: 60, Share: 0.85, Passes: 380}, 380, []float64{95, 190, 285}},
		{cutting.RibShape{Edge: 400, Width: 60, Share: 0.85, Passes: 500, Plain: true}, 400, nil},
		{cutting.RibShape{Edge: 400, Width: 60, Share: 0.85, Passes: 380, Half: true}, 340, []float64{170}},
		{cutting.RibShape{Edge: 400, Width: 60, Share: 0.85, Passes: 720, Half: true}, 360, []float64{180}},
	} {
		p, err := cutting.RibBand("rib", "Rib", c.shape)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.RunLength("bottom"); math.Abs(got-c.long) > 1e-9 {
			t.Errorf("%+v: %.1f mm long, want %.1f", c.shape, got, c.long)
		}
		var at []float64
		for _, n := range p.Notches {
			if n.Edge == "bottom" {
				at = append(at, n.At)
			}
		}
		if len(at) != len(c.notches) {
			t.Errorf("%+v: notches at %v, want %v", c.shape, at, c.notches)
			continue
		}
		for i := range at {
			if math.Abs(at[i]-c.notches[i]) > 1e-9 {
				t.Errorf("%+v: notches at %v, want %v", c.shape, at, c.notches)
			}
		}
		if p.HasFold() != c.shape.Half || p.Cloth != "rib" {
			t.Errorf("%+v: on the fold %v, cut from %q", c.shape, p.HasFold(), p.Cloth)
		}
	}
}
