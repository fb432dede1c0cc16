package form

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
)

// How far the arms hang out and forward, radians (from memory: a relaxed arm hangs a little
// forward).
const (
	armOut     = 15 * math.Pi / 180
	armForward = 5 * math.Pi / 180
)

// An arm is the axis of the left arm.
type arm struct{ top, elbow, wrist r3.Vec }

// arm returns the left arm. It stands where a tape round both shoulders, at the level of
// the middle of the arm's round top, reads the girth of the shoulders.
func (k *maker) arm() arm {
	r := Radius(k.m[body.UpperArmGirth])
	along := r3.Unit(r3.Vec{X: math.Tan(armOut), Y: -1, Z: math.Tan(armForward)})
	top := r3.Vec{Y: k.shoulder.Y - r, Z: k.armDepth()}
	trunk := k.rowAt(top.Y)
	loop := loopOf(trunk.Radius, trunk.Middle)
	low, high := k.shoulder.X-r, k.shoulder.X+r/2
	want := k.shoulderGirth()
	for high-low > 0.05 {
		top.X = (low + high) / 2
		round := slices.Clone(loop)
		for i := range 24 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
			x, z := top.X+r*sin/math.Cos(armOut), top.Z+r*cos
			round = append(round, r2.Vec{X: x, Y: z}, r2.Vec{X: -x, Y: z})
		}
		if Girth(round) < want {
			low = top.X
		} else {
			high = top.X
		}
	}
	return arm{top, r3.Add(top, r3.Scale(k.m[body.ShoulderToElbow]-r, along)),
		r3.Add(top, r3.Scale(k.m[body.ArmLength]-r, along))}
}

// armDepth returns the z of the arms: half-way between the creases of the arm in front and
// behind, half-way down the armhole, where the widths of chest and back end.
func (k *maker) armDepth() float64 {
	row := k.rowAt((k.shoulder.Y + k.height[atArmpit]) / 2)
	half := loopOf(row.Radius, row.Middle)[:Angles] // from front to back
	front := alongLine(half, k.m[body.ChestWidth]/2)
	slices.Reverse(half)
	back := alongLine(half, k.m[body.BackWidth]/2)
	return (front.Y + back.Y) / 2
}

// alongLine returns the point at a length along a line.
func alongLine(line []r2.Vec, s float64) r2.Vec {
	for i := 1; i < len(line); i++ {
		way := r2.Sub(line[i], line[i-1])
		d := r2.Norm(way)
		if s <= d {
			return r2.Add(line[i-1], r2.Scale(s/d, way))
		}
		s -= d
	}
	return line[len(line)-1]
}

// shoulderGirth returns the girth of the shoulders over both arms, mm, that the survey's
// women or men of this height, bust girth and shoulder length have on average
// (ANSUR II, 993 women and 2,041 men; the standard deviation about it is 28 mm).
func (k *maker) shoulderGirth() float64 {
	c := [4]float64{166.7, 0.152, 0.399, 1.747}
	if k.model == &shapes().Men {
		c = [4]float64{183.1, 0.087, 0.571, 1.59}
	}
	return c[0] + c[1]*k.m[body.Height] + c[2]*k.m[body.BustGirth] + c[3]*k.m[body.ShoulderLength]
}

// An Arm is the right arm of a form: the line of its middle, and its girths.
type Arm struct {
	line   []r3.Vec // from the shoulder to the elbow and the wrist
	reach  []float64
	radius []float64 // every armStep along the line
}

// armStep is the distance between two readings of an arm, mm.
const armStep = 20.0

// RightArm returns the right arm.
func (f *Form) RightArm() *Arm {
	l := f.Landmarks
	mirror := func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }
	elbow, wrist, shoulder := mirror(l[Elbow]), mirror(l[Wrist]), mirror(l[Shoulder])
	// The line begins where the arm's own line meets the height of the shoulder.
	start := shoulder
	if f.arms != nil {
		up := r3.Unit(r3.Sub(elbow, wrist))
		start = r3.Add(elbow, r3.Scale((shoulder.Y-elbow.Y)/up.Y, up))
	}
	a := &Arm{line: []r3.Vec{start, elbow, wrist}, reach: []float64{0}}
	for i := 1; i < len(a.line); i++ {
		a.reach = append(a.reach, a.reach[i-1]+r3.Norm(r3.Sub(a.line[i], a.line[i-1])))
	}
	for s := 0.0; s <= a.Length(); s += armStep {
		a.radius = append(a.radius, Radius(f.armGirth(a, s)))
	}
	for i := len(a.radius) - 2; i >= 0; i-- { // above the arm's round top
		if math.IsInf(a.radius[i], 0) {
			a.radius[i] = a.radius[i+1]
		}
	}
	return a
}

// Length returns the length from the shoulder to the wrist, and Elbow that to the elbow.
func (a *Arm) Length() float64 { return a.reach[len(a.reach)-1] }

// Elbow returns the length from the shoulder to the elbow.
func (a *Arm) Elbow() float64 { return a.reach[1] }

// At returns the middle of the arm at a length from the shoulder, and the direction of the
// arm there, which beyond the wrist goes on.
func (a *Arm) At(s float64) (at, along r3.Vec) {
	i := 1
	for i < len(a.line)-1 && a.reach[i] < s {
		i++
	}
	along = r3.Unit(r3.Sub(a.line[i], a.line[i-1]))
	return r3.Add(a.line[i-1], r3.Scale(s-a.reach[i-1], along)), along
}

// Radius returns the radius of a circle of the arm's girth at a length from the shoulder.
func (a *Arm) Radius(s float64) float64 {
	at := max(0, min(float64(len(a.radius)-1), s/armStep))
	i := min(int(at), len(a.radius)-2)
	return a.radius[i] + (at-float64(i))*(a.radius[i+1]-a.radius[i])
}

// armGirth returns the girth of the section square to the arm.
func (f *Form) armGirth(a *Arm, s float64) float64 {
	at, along := a.At(s)
	// Turn the arm upright.
	up := r3.Scale(-1, along)
	right := r3.Unit(r3.Cross(up, r3.Vec{Z: 1}))
	front := r3.Cross(right, up)
	points := make([]r3.Vec, len(f.Points))
	for i, p := range f.Points {
		d := r3.Sub(p, at)
		points[i] = r3.Vec{X: r3.Dot(d, right), Y: r3.Dot(d, up), Z: r3.Dot(d, front)}
	}
	least := math.Inf(1)
	for _, loop := range sections(points, f.Triangles, 0) {
		if about(loop, r2.Vec{}) {
			least = min(least, Girth(loop))
		}
	}
	return least
}
