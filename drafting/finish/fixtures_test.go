package finish

import (
	"context"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// edge is a named run of the outline of a test piece.
func edge(name string, role pattern.Role, segments ...geom.Segment) pattern.Edge {
	return pattern.Edge{Name: name, Run: name, Role: role, Path: segments}
}

func ln(x0, y0, x1, y1 float64) geom.Segment { return geom.Line(geom.Pt(x0, y0), geom.Pt(x1, y1)) }

func cb(x0, y0, x1, y1, x2, y2, x3, y3 float64) geom.Segment {
	return geom.Cubic(geom.Pt(x0, y0), geom.Pt(x1, y1), geom.Pt(x2, y2), geom.Pt(x3, y3))
}

// wedge is a straight dart between two places of an edge and its apex.
func wedge(name, mouth string, a, b, apex geom.Point, pressed int) pattern.Dart {
	return pattern.Dart{
		Name: name, Mouth: mouth, Apexes: []geom.Point{apex}, Pressed: pressed,
		Legs: [2]geom.Path{{geom.Line(a, apex)}, {geom.Line(b, apex)}},
	}
}

// skirtFront is half a flared skirt on the fold, with a waist dart.
func skirtFront() pattern.Piece {
	// The waist dart is 24 mm wide and 100 deep, square to a waist that rises to the side.
	a, b := geom.Pt(88, 1.6), geom.Pt(112, -0.4)
	apex := a.Lerp(b, 0.5).Add(b.Sub(a).Right().Unit().Mul(100))
	return pattern.Piece{
		Name: "front", Title: "Skirt front", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{
			edge("waist_centre", pattern.RoleSeam, cb(0, 6, 30, 6, 58.09, 4.09, a.X, a.Y)),
			edge("waist_dart", pattern.RoleDartMouth, geom.Line(a, b)),
			edge("waist_side", pattern.RoleSeam, cb(b.X, b.Y, 140, -2.7, 165, -6, 190, -12)),
			edge("side", pattern.RoleSeam, cb(190, -12, 215, 70, 240, 130, 245, 200),
				cb(245, 200, 252, 298, 275, 500, 285, 598)),
			edge("hem", pattern.RoleHem, cb(285, 598, 190, 610, 95, 612, 0, 612)),
			edge("centre_front", pattern.RoleFold, ln(0, 612, 0, 6)),
		},
		Darts: []pattern.Dart{wedge("waist dart", "waist_dart", a, b, apex, 0)},
		Notches: []pattern.Notch{{Edge: "side", At: 214, Kind: pattern.NotchSingle},
			{Edge: "hem", At: 2, Kind: pattern.NotchSingle}},
		Lines: []pattern.Line{{Name: "hip", Path: geom.Path{ln(0, 206, 245, 200)}}},
		Grain: ln(60, 120, 60, 560),
	}
}

// bodiceFront is half a bodice with a side dart pressed down and a waist dart.
func bodiceFront() pattern.Piece {
	apex := geom.Pt(112, 218)
	a := geom.Pt(236, 200)
	b := a.Rotate(apex, 13*math.Pi/180)
	return pattern.Piece{
		Name: "front", Title: "Front", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{
			edge("neckline", pattern.RoleNeckline, cb(0, 26, 50, 26, 58, -4, 70, -50)),
			edge("shoulder", pattern.RoleSeam, ln(70, -50, 182, -3)),
			edge("armhole", pattern.RoleArmhole, cb(182, -3, 168, 32, 160, 70, 166, 100),
				cb(166, 100, 172, 140, 190, 168, 231, 174)),
			edge("side_upper", pattern.RoleSeam, geom.Line(geom.Pt(231, 174), a)),
			edge("side_dart", pattern.RoleDartMouth, geom.Line(a, b)),
			edge("side_lower", pattern.RoleSeam, cb(b.X, b.Y, 222, 300, 216, 350, 218, 410),
				cb(218, 410, 222, 500, 252, 560, 252, 614)),
			edge("hem", pattern.RoleHem, ln(252, 614, 0, 614)),
			edge("centre_front", pattern.RoleFold, ln(0, 614, 0, 26)),
		},
		Darts: []pattern.Dart{
			wedge("bust dart", "side_dart", a, b, apex, 1),
			{
				Name: "waist dart", Apexes: []geom.Point{geom.Pt(92, 246), geom.Pt(92, 510)},
				Legs: [2]geom.Path{
					{ln(92, 246, 80, 410), ln(80, 410, 92, 510)},
					{ln(92, 246, 104, 410), ln(104, 410, 92, 510)},
				},
			},
		},
		Notches: []pattern.Notch{
			{Edge: "armhole", At: 120, Kind: pattern.NotchSingle},
			{Edge: "side_lower", At: 170, Kind: pattern.NotchSingle},
			{Edge: "shoulder", At: 0.5, Kind: pattern.NotchDouble},
		},
		Marks: []pattern.Mark{{Name: "bust point", Kind: pattern.MarkBustPoint, At: geom.Pt(92, 215)}},
		Lines: []pattern.Line{
			{Name: "bust", Path: geom.Path{ln(0, 215, 234, 215)}},
			{Name: "waist", Path: geom.Path{ln(0, 410, 218, 410)}},
		},
		Grain: ln(45, 80, 45, 570),
	}
}

// sleeve is a sleeve tapered to the wrist.
func sleeve() pattern.Piece {
	return pattern.Piece{
		Name: "sleeve", Title: "Sleeve", Cut: pattern.Cut{Count: 2, Pair: true},
		Edges: []pattern.Edge{
			edge("cap_back", pattern.RoleCap, cb(-164, 148, -120, 140, -98, 110, -84, 70), cb(-84, 70, -66, 22, -38, 0, 0, 0)),
			edge("cap_front", pattern.RoleCap, cb(0, 0, 38, 0, 64, 24, 82, 72), cb(82, 72, 96, 112, 122, 142, 166, 148)),
			edge("seam_front", pattern.RoleSeam, cb(166, 148, 152, 230, 148, 270, 142, 334),
				cb(142, 334, 136, 400, 108, 500, 106, 580)),
			edge("wrist", pattern.RoleHem, ln(106, 580, -104, 580)),
			edge("seam_back", pattern.RoleSeam, cb(-104, 580, -106, 500, -134, 400, -140, 334),
				cb(-140, 334, -146, 270, -150, 230, -164, 148)),
		},
		Notches: []pattern.Notch{
			{Edge: "cap_back", At: 116, Kind: pattern.NotchDouble},
			{Edge: "cap_front", At: 112, Kind: pattern.NotchSingle},
			{Edge: "cap_front", At: 0, Kind: pattern.NotchSingle},
		},
		Lines: []pattern.Line{{Name: "elbow", Path: geom.Path{ln(-140, 334, 142, 334)}}},
		Grain: ln(0, 60, 0, 540),
	}
}

// band is a narrow binding.
func band() pattern.Piece {
	return pattern.Piece{
		Name: "band", Title: "Neck binding", Cut: pattern.Cut{Count: 1},
		Edges: []pattern.Edge{
			edge("neck", pattern.RoleNeckline, ln(0, 0, 420, 0)),
			edge("end", pattern.RoleSeam, ln(420, 0, 420, 32)),
			edge("outer", pattern.RoleSeam, ln(420, 32, 0, 32)),
			edge("start", pattern.RoleSeam, ln(0, 32, 0, 0)),
		},
		Grain: ln(20, 16, 400, 16),
	}
}

// gore is a piece of awkward corners: an acute point, a corner that closes,
// smooth joins, and a neckline that bends more tightly than its allowance.
func gore() pattern.Piece {
	return pattern.Piece{
		Name: "gore", Title: "Gore", Cut: pattern.Cut{Count: 4, Pair: true},
		Edges: []pattern.Edge{
			edge("top", pattern.RoleSeam, ln(0, 0, 70, 0)),
			edge("scoop", pattern.RoleNeckline, cb(70, 0, 70, 20, 74, 26, 100, 26), cb(100, 26, 122, 26, 126, 20, 126, 0)),
			edge("top_end", pattern.RoleSeam, ln(126, 0, 200, 0)),
			edge("point", pattern.RoleSeam, ln(200, 0, 340, 60)),
			edge("under", pattern.RoleSeam, ln(340, 60, 200, 80)),
			edge("inset", pattern.RoleSeam, ln(200, 80, 200, 180)),
			edge("inset_lower", pattern.RoleSeam, ln(200, 180, 204, 300)),
			edge("hem", pattern.RoleHem, ln(204, 300, 0, 300)),
			edge("back", pattern.RoleSeam, ln(0, 300, 0, 0)),
		},
		Grain: ln(30, 40, 30, 260),
	}
}

func testPattern() pattern.Pattern {
	return pattern.Pattern{Pieces: []pattern.Piece{skirtFront(), bodiceFront(), sleeve(), band(), gore()}}
}

const testStyle = "Torso block, regular fit"

var testLabel = Label{
	Reference: "A-1042", Customer: "K-0077", Date: "2026-01-31", Revision: 2,
	Measures: []string{"Bust 92.0 cm", "Waist 76.0 cm", "Hip 100.0 cm", "Nape to waist 41.0 cm"},
}

// finishLettered finishes and letters a pattern.
func finishLettered(p pattern.Pattern, r Rules) (Pattern, error) {
	q, err := Finish(context.Background(), p, r)
	q.Style, q.Label = testStyle, testLabel
	return q.Lettered(), err
}

// letteredAs finishes a pattern by the usual rules and letters it.
func letteredAs(p pattern.Pattern, s said) (Pattern, error) {
	q, err := Finish(context.Background(), p, Rules{})
	q.Style, q.Label = s.style, s.label
	return q.Lettered(), err
}
