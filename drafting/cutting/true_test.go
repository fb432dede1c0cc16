package cutting_test

import (
	"math"
	"slices"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// turnAcross returns the angle in degrees by which the edge turns at a dart that
// is folded shut, and false if the dart opens at a corner.
func turnAcross(p pattern.Piece, d pattern.Dart) (float64, bool) {
	n, i := len(p.Edges), p.EdgeIndex(d.Mouth)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	// The part before the mouth, turned as the dart is sewn: leg onto leg.
	shut := geom.Turn(d.Legs[0].End(), geom.AngleBetween(d.Legs[0].EndTangent(), d.Legs[1].EndTangent()))
	if len(d.Legs[0]) > 1 { // of bent legs only the ends at the mouth are sewn in one line
		shut = geom.Turn(d.Legs[0].Start(), geom.AngleBetween(d.Legs[0].StartTangent(), d.Legs[1].StartTangent()))
	}
	turn := geom.AngleBetween(shut.ApplyVector(before.Path.EndTangent()), after.Path.StartTangent())
	return turn * 180 / math.Pi, before.Run == after.Run
}

// A trued edge runs on across the sewn dart wherever the dart opens; it keeps its
// length and the darts keep their legs.
func TestTrueDarts(t *testing.T) {
	t.Parallel()
	var worst float64
	for i, figure := range figures {
		for _, at := range []string{"side", "shoulder", "neck", "armhole", "waist", "centre_front"} {
			front := blockPieces(t, figure, map[string]block.Value{"bust_dart": {Word: at}})["front"]
			trued := cutting.TrueDarts(front)
			before, after := runLengths(front), runLengths(trued)
			for run, length := range before {
				near(t, at+": length of "+run, after[run], length, 0.1)
			}
			for k, d := range trued.Darts {
				if d.Mouth == "" {
					continue
				}
				was, _ := turnAcross(front, front.Darts[k])
				worst = max(worst, math.Abs(was))
				if turn, inEdge := turnAcross(trued, d); inEdge && math.Abs(turn) > 1.01 {
					t.Errorf("figure %d, %s: the edge turns by %.2f degrees across the %s, %.2f before", i, at, turn, d.Name, was)
				}
				if !slices.EqualFunc(d.Legs[:], front.Darts[k].Legs[:], slices.Equal[geom.Path]) {
					t.Errorf("figure %d, %s: the legs of the %s are changed", i, at, d.Name)
				}
			}
			if again := cutting.TrueDarts(trued); !slices.Equal(again.Outline(), trued.Outline()) {
				t.Errorf("figure %d, %s: trued darts are trued again", i, at)
			}
		}
	}
	if worst < 5 {
		t.Errorf("no edge turned by more than %.1f degrees before: the test proves nothing", worst)
	}
}
