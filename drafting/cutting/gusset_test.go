package cutting_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// The sides of a gusset are as long as asked for, and its corners in the seams as far apart.
func TestGusset(t *testing.T) {
	t.Parallel()
	s := cutting.GussetShape{Front: 110, Back: 90, Width: 80}
	whole, err := cutting.Gusset("gusset", "Gusset", s)
	if err != nil {
		t.Fatal(err)
	}
	half, err := cutting.HalfGusset("gusset", "Gusset", cutting.GussetShape{Front: 90, Width: 80})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []struct {
		p    pattern.Piece
		edge string
		long float64
	}{
		{whole, "front_left", 110}, {whole, "front_right", 110}, {whole, "back_left", 90}, {whole, "back_right", 90},
		{half, "left", 90}, {half, "right", 90}, {half, "base", 80},
	} {
		if got := want.p.RunLength(want.edge); math.Abs(got-want.long) > 1e-9 {
			t.Errorf("%s is %.3f mm long, want %.0f", want.edge, got, want.long)
		}
	}
	if got := whole.Outline().Bounds().Width(); math.Abs(got-80) > 1e-9 {
		t.Errorf("the gusset is %.3f mm wide, want 80", got)
	}
	// Two sides and the height of a triangle: Pythagoras.
	want := math.Sqrt(110*110-40*40) + math.Sqrt(90*90-40*40)
	if got := whole.Outline().Bounds().Height(); math.Abs(got-want) > 1e-9 {
		t.Errorf("the gusset is %.3f mm long, want %.3f", got, want)
	}
	_, err = cutting.Gusset("gusset", "Gusset", cutting.GussetShape{Front: 40, Back: 10, Width: 100})
	if err == nil || !strings.Contains(err.Error(), "width 100.0 mm") || !strings.Contains(err.Error(), "back 10.0 mm") {
		t.Errorf("a gusset wider than its sides: %v", err)
	}
}

// Both sides of a slit for a gusset are as long as asked for; nothing else of the edge is lost but
// its mouth.
func TestOpenForGusset(t *testing.T) {
	t.Parallel()
	s := cutting.GussetSlit{At: cutting.Position{Run: "side", At: 150}, Long: 90, Opening: 12, First: "underarm",
		Second: "side"}
	p := square()
	p.Notches = []pattern.Notch{{Edge: "side", At: 40}, {Edge: "side", At: 150}, {Edge: "side", At: 250}}
	q, err := cutting.OpenForGusset(p, s)
	if err != nil {
		t.Fatal(err)
	}
	for edge, want := range map[string]float64{"gusset_start": 90, "gusset_end": 90, "underarm": 144, "side": 144} {
		if got := q.RunLength(edge); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s is %.3f mm long, want %.0f", edge, got, want)
		}
	}
	at := map[string]float64{}
	for _, n := range q.Notches {
		at[n.Edge] = n.At
	}
	if len(at) != 2 || math.Abs(at["underarm"]-40) > 1e-9 || math.Abs(at["side"]-94) > 1e-9 {
		t.Errorf("notches at %v; want those beside the mouth where they were", at)
	}
	if tip, want := q.Run("gusset_start").End(), geom.Pt(200-math.Sqrt(90*90-36), 150); !tip.Near(want, 1e-9) {
		t.Errorf("the slit ends at %v, want %v", tip, want)
	}
	s.Long = 195
	var room *cutting.RoomError
	if _, err := cutting.OpenForGusset(square(), s); !errors.As(err, &room) {
		t.Errorf("a slit up to the other side: %v", err)
	}
}
