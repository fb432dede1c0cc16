package cutting

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A HoodShape holds the dimensions of a hood's side, mm.
type HoodShape struct {
	Neck   float64 // half the neck that the hood is sewn to
	Height float64 // from the neck at the centre back to the crown
	Depth  float64 // from the face to the back of the head
	Drop   float64 // of the neck edge from the back to the front
}

// hoodBehind is how far a hood reaches behind its neck at the back of the head, as a share of
// its depth.
const hoodBehind = 0.12

// Hood returns the side of a hood of two, whose seam runs from the neck over the crown to
// the forehead. The neck edge has an exact length. Its edges are crown, face and neck.
func Hood(name, title string, s HoodShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, Pair: true}}
	if err := checkDimensions(p, dimension{"half the neck", s.Neck, 100, 600}, dimension{"height", s.Height, 200, 600},
		dimension{"depth", s.Depth, 150, 500}, dimension{"drop", s.Drop, 0, s.Neck / 4}); err != nil {
		return pattern.Piece{}, err
	}
	neck := risingCurve(s.Neck, s.Drop).Move(geom.Reflect(geom.Point{}, geom.Pt(1, 0)))
	front := neck.End()
	behind := hoodBehind * s.Depth
	// The face is straight. Half way up it is as far from the back as the hood is deep.
	top := geom.Pt(2*(s.Depth-behind)-front.X, -0.96*s.Height)
	if lean := (top.X - front.X) / s.Height; lean < -0.5 || lean > 0.5 {
		return pattern.Piece{}, newError(p, "neck", "half the neck is %.1f mm and the hood %.1f mm deep: its face would "+
			"lean by %.0f mm over %.0f mm of height; at most half of that", s.Neck, s.Depth, top.X-front.X, s.Height)
	}
	// The crown is square to the neck and to the face: both run on over its seam.
	crown, err := geom.Spline([]geom.Point{
		{X: 0, Y: 0}, {X: -behind, Y: -0.5 * s.Height}, {X: 0.3*s.Depth - behind, Y: -0.93 * s.Height}, top,
	}, geom.Pt(0, -1), front.Sub(top).Unit().Left(), 1)
	if err != nil {
		return pattern.Piece{}, err
	}
	p.Edges = []pattern.Edge{
		newEdge("crown", pattern.RoleSeam, crown),
		newEdge("face", pattern.RoleSeam, geom.Polyline(top, front)),
		newEdge("neck", pattern.RoleNeckline, neck.Reverse()),
	}
	if broken := p.ValidateOutline(); len(broken) > 0 {
		return pattern.Piece{}, newError(p, "crown", "the hood cannot be drawn so: %v", broken[0])
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}
