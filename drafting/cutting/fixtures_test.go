package cutting_test

import (
	"errors"
	"math"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// figures are bodies to work on: a standard one, a full bust, a large waist.
var figures = []body.Measures{
	{"height": 1680, "bust_girth": 920, "waist_girth": 760, "hip_girth": 1000, "neck_base_girth": 375,
		"shoulder_length": 126,
		"back_width":      355, "nape_to_waist": 415, "waist_to_hip": 205, "upper_arm_girth": 285,
		"wrist_girth": 160, "arm_length": 590},
	{"height": 1640, "bust_girth": 1180, "under_bust_girth": 970, "waist_girth": 960, "hip_girth": 1180,
		"neck_base_girth": 400, "shoulder_length": 128,
		"back_width": 390, "nape_to_waist": 420, "waist_to_hip": 205, "upper_arm_girth": 360, "wrist_girth": 175,
		"arm_length": 580},
	{"height": 1590, "bust_girth": 1000, "waist_girth": 1010, "hip_girth": 1060, "neck_base_girth": 385,
		"shoulder_length": 120,
		"back_width":      360, "nape_to_waist": 410, "waist_to_hip": 190, "upper_arm_girth": 315,
		"wrist_girth": 165, "arm_length": 560},
}

// blockPieces are the loose pieces of a torso, the front turned so that its
// centre lies on the left.
func blockPieces(t testing.TB, figure body.Measures, choices map[string]block.Value) map[string]pattern.Piece {
	t.Helper()
	return piecesOf(t, "torso", figure, choices)
}

// piecesOf are the loose pieces of a block, the front turned over.
func piecesOf(t testing.TB, name string, figure body.Measures,
	choices map[string]block.Value) map[string]pattern.Piece {
	t.Helper()
	spec, _ := block.Find(name)
	requires, _ := spec.Needs(choices)
	b, faults := body.New(figure, requires)
	if faults != nil {
		t.Fatal(faults)
	}
	p, err := block.Draft(t.Context(), spec.Name, block.Request{Body: b, Fit: "regular", Choices: choices, Garment: true})
	if err != nil {
		t.Fatal(err)
	}
	pieces := map[string]pattern.Piece{}
	for _, q := range p.Pieces {
		q = cutting.Loose(q)
		if q.Name == "front" {
			q = q.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
		}
		pieces[q.Name] = q
	}
	return pieces
}

// square is a piece of 200 by 300 mm with its fold on the left.
func square() pattern.Piece {
	edge := func(name string, role pattern.Role, a, b geom.Point) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: geom.Polyline(a, b)}
	}
	a, b, c, d := geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 300), geom.Pt(0, 300)
	return pattern.Piece{
		Name: "square", Title: "Square", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{
			edge("top", pattern.RoleSeam, a, b), edge("side", pattern.RoleSeam, b, c),
			edge("hem", pattern.RoleHem, c, d), edge("fold", pattern.RoleFold, d, a),
		},
		Notches: []pattern.Notch{{Edge: "side", At: 100, Kind: pattern.NotchSingle}},
		Lines:   []pattern.Line{{Name: "waist", Path: geom.Polyline(geom.Pt(0, 100), geom.Pt(200, 100))}},
		Marks:   []pattern.Mark{{Name: "spot", Kind: pattern.MarkDrill, At: geom.Pt(150, 50)}},
		Grain:   geom.Line(geom.Pt(50, 50), geom.Pt(50, 250)),
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.4f, want %.4f", what, got, want)
	}
}

// sound checks a piece as it stands by itself.
func sound(t *testing.T, p pattern.Piece) {
	t.Helper()
	q := cutting.Numbered(cutting.FitGrain(p))
	for _, b := range (pattern.Pattern{Pieces: []pattern.Piece{q}}).Validate() {
		t.Errorf("%v", b)
	}
}

// wantError holds an error to name piece and edge.
func wantError(t *testing.T, err error, piece, edge string) {
	t.Helper()
	op, ok := errors.AsType[*cutting.Error](err)
	if !ok {
		t.Fatalf("error %v, want an OpError", err)
	}
	if op.Piece != piece || op.Edge != edge || op.Reason == "" {
		t.Errorf("error on %s/%s (%s), want %s/%s", op.Piece, op.Edge, op.Reason, piece, edge)
	}
}

func runLengths(p pattern.Piece) map[string]float64 {
	m := map[string]float64{}
	for _, run := range p.Runs() {
		m[run] = p.RunLength(run)
	}
	return m
}
