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
	if worst < 4 {
		t.Errorf("no edge turned by more than %.1f degrees before: the test proves nothing", worst)
	}
}

// The hem of two pieces runs on over the seam between them, unless it turns so
// far that the corner is meant. The edges keep their ends and their lengths.
func TestTrueJoints(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		slant float64 // degrees by which each hem leaves the square to the seam
		want  float64 // turn in degrees after trueing
	}{{0, 0}, {0.4, 0.8}, {3, 0}, {-3, 0}, {7, 0}, {8, 16}} {
		// The seam of both lies on the right of the left piece and on the left of the right one.
		drop := 120 * math.Tan(tt.slant*math.Pi/180)
		left := quadrilateral("left", geom.Pt(0, 0), geom.Pt(120, 0), geom.Pt(120, 200), geom.Pt(0, 200+drop))
		right := quadrilateral("right", geom.Pt(120, 0), geom.Pt(240, 0), geom.Pt(240, 200+drop), geom.Pt(120, 200))
		pieces, seams, errs := cutting.Assemble([]pattern.Piece{left, right}, []cutting.Pairing{{
			A: []pattern.EdgeRef{{Piece: "left", Edge: "right"}}, B: []pattern.EdgeRef{{Piece: "right", Edge: "left"}}}})
		if len(errs) > 0 {
			t.Fatal(errs)
		}
		hems := 0
		for _, j := range pattern.Joints(pieces, seams) {
			if j.Corners[0].Next.Role != pattern.RoleHem {
				continue
			}
			hems++
			if turn := math.Abs(j.Turn()) * 180 / math.Pi; !j.RunsOn || math.Abs(turn-tt.want) > 0.01 {
				t.Errorf("hems %g degrees off square turn by %.2f at the seam, want %g", tt.slant, turn, tt.want)
			}
		}
		if hems != 1 {
			t.Errorf("hems %g degrees off square: %d joints of the hem, want 1", tt.slant, hems)
		}
		for i, p := range []pattern.Piece{left, right} {
			if !slices.EqualFunc(pieces[i].Edges, p.Edges, func(a, b pattern.Edge) bool {
				return a.Path.Start() == b.Path.Start() && a.Path.End() == b.Path.End()
			}) {
				t.Errorf("hems %g degrees off square: an edge of the %s piece has other ends", tt.slant, p.Name)
			}
			near(t, p.Name+": length of the hem", pieces[i].RunLength("hem"), p.RunLength("hem"), 0.1)
		}
	}
}

// quadrilateral returns a piece with the edges top, right, hem and left.
func quadrilateral(name string, a, b, c, d geom.Point) pattern.Piece {
	side := func(name string, role pattern.Role, from, to geom.Point) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: geom.Polyline(from, to)}
	}
	return pattern.Piece{Name: name, Cut: pattern.Cut{Count: 2, Pair: true}, Edges: []pattern.Edge{
		side("top", pattern.RoleEdge, a, b), side("right", pattern.RoleSeam, b, c),
		side("hem", pattern.RoleHem, c, d), side("left", pattern.RoleSeam, d, a)}}
}

// Pieces side by side have joints at the ends of their seam; pieces that lie on each other have
// none: sewn round a corner, as a facing is, or a lining of its shell's shape.
func TestJointsFaceToFace(t *testing.T) {
	t.Parallel()
	seam := func(edge string) pattern.Seam {
		return pattern.Seam{A: pattern.EdgeRef{Piece: "shell", Edge: edge}, B: pattern.EdgeRef{Piece: "other", Edge: edge}}
	}
	for _, test := range []struct {
		name, cloth string
		seams       []pattern.Seam
		want        int
	}{
		{"side by side", "", []pattern.Seam{seam("side")}, 2},
		{"a facing", "", []pattern.Seam{seam("side"), seam("hem")}, 0},
		{"a lining", "lining", []pattern.Seam{seam("side")}, 0},
	} {
		shell, other := square(), square()
		shell.Name, other.Name, other.Cloth = "shell", "other", test.cloth
		if got := pattern.Joints([]pattern.Piece{shell, other}, test.seams); len(got) != test.want {
			t.Errorf("%s: %d joints, want %d", test.name, len(got), test.want)
		}
	}
}
