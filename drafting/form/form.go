// Package form makes a body's surface: from a mesh, or from measurements.
//
// A form stands upright with its arms hanging out to the sides. Lengths are in
// millimetres; the y axis points up from the floor, x to the body's left, and z
// to its front.
package form

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Form is the surface of a body.
type Form struct {
	Points    []r3.Vec
	Triangles [][3]int // wound counterclockwise as seen from outside
	Landmarks map[Landmark]r3.Vec

	trunk field // and legs; of a mesh the whole body
	arms  *field
	limbs int // the first of the arms' Triangles, if arms is not nil
	torso int // number of its triangles, the first; 0 of a mesh
}

// A Landmark is a named point of the body, on its left side or in its middle.
type Landmark string

// The landmarks.
const (
	Nape             Landmark = "nape"
	FrontNeck        Landmark = "front_neck"
	SideNeck         Landmark = "side_neck"
	Shoulder         Landmark = "shoulder"
	Elbow            Landmark = "elbow"
	Wrist            Landmark = "wrist"
	Armpit           Landmark = "armpit"
	BustPoint        Landmark = "bust_point"
	CentreFrontWaist Landmark = "centre_front_waist"
	CentreBackWaist  Landmark = "centre_back_waist"
	Crotch           Landmark = "crotch"
)

// Landmarks of every form.
var allLandmarks = []Landmark{Nape, FrontNeck, SideNeck, Shoulder, Elbow, Wrist, Armpit, BustPoint, CentreFrontWaist,
	CentreBackWaist, Crotch}

// Limits of a mesh.
const (
	maxTriangles = 200_000
	maxPoints    = 200_000
	shortest     = 600.0  // mm: height of a body
	tallest      = 2500.0 // mm
)

// New returns the form of a closed mesh and its landmarks. It returns an error
// that says what is wrong with a mesh that is open, wound inside out, of another
// unit than the millimetre, too large, or without a landmark.
func New(
	ctx context.Context, points []r3.Vec, triangles [][3]int, landmarks map[Landmark]r3.Vec,
) (f *Form, err error) {
	f = &Form{Points: points, Triangles: triangles, Landmarks: landmarks}
	if err := f.check(); err != nil {
		return nil, err
	}
	f.trunk, err = newField(ctx, f.Points, f.Triangles)
	return f, err
}

func (f *Form) check() error {
	switch {
	case len(f.Points) > maxPoints || len(f.Triangles) > maxTriangles:
		return fmt.Errorf("a mesh of %d points and %d triangles; at most %d and %d", len(f.Points), len(f.Triangles),
			maxPoints, maxTriangles)
	case len(f.Triangles) < 4:
		return fmt.Errorf("a mesh of %d triangles; at least 4", len(f.Triangles))
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range f.Points {
		if n := r3.Norm(p); math.IsNaN(n) || math.IsInf(n, 0) {
			return fmt.Errorf("point %d is not finite", i+1)
		}
		low, high = min(low, p.Y), max(high, p.Y)
	}
	if h := high - low; h < shortest || h > tallest {
		return fmt.Errorf("a mesh %.3g high along y; a body is %.0f to %.0f mm", h, shortest, tallest)
	}
	if err := closed(f.Triangles, len(f.Points)); err != nil {
		return err
	}
	if v := f.Volume(); v < 0 {
		return fmt.Errorf("the mesh is inside out: its triangles are wound clockwise as seen from outside")
	}
	for _, l := range allLandmarks {
		if _, ok := f.Landmarks[l]; !ok {
			return fmt.Errorf("no landmark %q; needed are %v", l, allLandmarks)
		}
	}
	return nil
}

// closed returns an error if a side belongs to one triangle only or to triangles
// of opposite winding.
func closed(triangles [][3]int, points int) error {
	sides := make(map[[2]int]int, 3*len(triangles))
	for i, t := range triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			if a < 0 || a >= points {
				return fmt.Errorf("triangle %d: no point %d", i+1, a+1)
			}
			sides[[2]int{a, b}]++
		}
	}
	for s, n := range sides {
		if back := sides[[2]int{s[1], s[0]}]; back != n {
			open := 0
			for s, n := range sides {
				open += max(0, n-sides[[2]int{s[1], s[0]}])
			}
			return fmt.Errorf("the mesh is open: %d sides have a triangle on one side only", open)
		}
	}
	return nil
}

// Volume returns the volume within the triangles, mm3.
func (f *Form) Volume() float64 {
	sum := 0.0
	for _, t := range f.Triangles {
		sum += r3.Dot(f.Points[t[0]], r3.Cross(f.Points[t[1]], f.Points[t[2]])) / 6
	}
	return sum
}

// Distance returns how far p is outside the body, mm, less than 0 inside, and
// its gradient, which points away from the body. Farther away than 50 mm it is 50 mm or a little
// more. Trunk and arms of a made form are joined smoothly.
func (f *Form) Distance(p r3.Vec) (float64, r3.Vec) {
	trunk, out := f.trunk.distance(p)
	if f.arms == nil {
		return trunk, out
	}
	arm, aside := f.arms.distance(p)
	if arm < trunk {
		trunk, out, arm, aside = arm, aside, trunk, out
	}
	near := max(0, 1-(arm-trunk)/flesh)
	if near == 0 {
		return trunk, out
	}
	return trunk - near*near*flesh/4, r3.Add(r3.Scale(1-near/2, out), r3.Scale(near/2, aside))
}

// flesh is the reach over which the shoulder joins trunk and arm, mm.
const flesh = 30.0

// TrunkDistance is Distance without the arms, which a made form keeps apart: what
// hangs on the trunk does not stick between them.
func (f *Form) TrunkDistance(p r3.Vec) (float64, r3.Vec) { return f.trunk.distance(p) }

// Torso returns TrunkDistance without the legs, for what lies between them: there their flesh gives way.
// Of a mesh it is TrunkDistance. The error is that of ctx.
func (f *Form) Torso(ctx context.Context) (func(p r3.Vec) (float64, r3.Vec), error) {
	if f.torso == 0 {
		return f.TrunkDistance, nil
	}
	torso, err := newField(ctx, f.Points, f.Triangles[:f.torso])
	return torso.distance, err
}

// ArmDistance is Distance of what of the arms is free: where they press on the trunk their
// flesh gives way. Of a mesh it is Distance.
func (f *Form) ArmDistance(p r3.Vec) (float64, r3.Vec) {
	trunk, out := f.trunk.distance(p)
	if f.arms == nil {
		return trunk, out
	}
	if arm, aside := f.arms.distance(p); arm > -trunk {
		return arm, aside
	}
	return -trunk, r3.Scale(-1, out)
}
