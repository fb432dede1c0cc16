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

// An arm is the left arm: its axis below the round top, the height of that, and the arm's
// depth over its width where it joins the trunk.
type arm struct {
	top, elbow, wrist r3.Vec
	rise, deep        float64
}

// creaseLevel returns the level at which the widths of chest and back are measured: half-way
// from the armpit to the shoulder point (ISO 8559-1).
func (k *maker) creaseLevel() float64 { return (k.shoulder.Y + k.height[atArmpit]) / 2 }

// arm returns the left arm. At the level of the creases a tape round both arms reads the
// girth of the shoulders, and the arm leaves the trunk in front and behind where the widths
// of chest and back end.
func (k *maker) arm() arm {
	r := Radius(k.m[body.UpperArmGirth])
	along := r3.Unit(r3.Vec{X: math.Tan(armOut), Y: -1, Z: math.Tan(armForward)})
	across := k.creaseLevel()
	a := arm{rise: min(r, k.shoulder.Y-across)}
	a.top.Y = k.shoulder.Y - a.rise
	front, back := k.creases(across)
	trunk := k.rowAt(across)
	loop := loopOf(trunk.Radius, trunk.Middle)
	down, wide := (a.top.Y-across)/-along.Y, r/math.Cos(armOut)
	low, high := k.shoulder.X-r, k.shoulder.X+r/2
	want := k.shoulderGirth()
	for high-low > 0.05 {
		a.top.X = (low + high) / 2
		out := a.top.X + down*along.X
		middle, deep := through(front, back, out, wide)
		a.top.Z, a.deep = middle-down*along.Z, deep*math.Cos(armForward)/r
		round := slices.Clone(loop)
		for i := range 24 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
			x, z := out+wide*sin, middle+deep*cos
			round = append(round, r2.Vec{X: x, Y: z}, r2.Vec{X: -x, Y: z})
		}
		if Girth(round) < want {
			low = a.top.X
		} else {
			high = a.top.X
		}
	}
	a.elbow = r3.Add(a.top, r3.Scale(k.m[body.ShoulderToElbow]-a.rise, along))
	a.wrist = r3.Add(a.top, r3.Scale(k.m[body.ArmLength]-a.rise, along))
	return a
}

// through returns the middle and half the depth of an ellipse through a point in front and
// one behind, its middle at x and half its width given, (x, z). What of a point lies
// farther in than the ellipse is wide counts as on its side: there the arm is in the trunk.
func through(front, back r2.Vec, x, wide float64) (middle, deep float64) {
	const least = 0.5 // of the depth, where an arm leaves the trunk
	share := func(p r2.Vec) float64 {
		u := (p.X - x) / wide
		return max(least, math.Sqrt(max(0, 1-u*u)))
	}
	f, b := share(front), share(back)
	deep = (front.Y - back.Y) / (f + b)
	return front.Y - deep*f, deep
}

// How far an arm beside a wide trunk lies in it, where the flesh of both gives way, mm, and how
// wide it is at least over its width were it round (our judgement).
const (
	pressed  = 30.0
	thinnest = 0.7
)

// beside returns the x of the middle, half the width and half the depth of the level section
// of an arm of a radius. Beside a wide trunk it is flat: it keeps its outer edge and, nearly,
// its girth.
func (k *maker) beside(at r3.Vec, radius float64) (x, wide, deep float64) {
	x, wide, deep = at.X, radius/math.Cos(armOut), radius/math.Cos(armForward)
	in := -pressed
	for i, r := range k.rowAt(at.Y).Radius {
		in = max(in, r*math.Sin(angle(i))-pressed)
	}
	over := in - (x - wide)
	if over <= 0 {
		return x, wide, deep
	}
	flat := max(wide-over/2, thinnest*wide)
	// Of an ellipse the mean of the squares of its radii gives about the girth.
	return in + flat, flat, math.Sqrt(deep*deep + wide*wide - flat*flat)
}

// creases returns where the widths of chest and back end on the trunk at a level: the
// creases of the arm in front and behind, (x, z).
func (k *maker) creases(y float64) (front, back r2.Vec) {
	row := k.rowAt(y)
	half := loopOf(row.Radius, row.Middle)[:Angles] // from front to back
	front = alongTape(half, k.m[body.ChestWidth]/2)
	slices.Reverse(half)
	return front, alongTape(half, k.m[body.BackWidth]/2)
}

// alongTape returns the point of a line to which a tape from its start, which spans
// hollows, is so long.
func alongTape(line []r2.Vec, want float64) r2.Vec {
	for i := 1; i < len(line); i++ {
		before, after := tapeTo(line[:i]), tapeTo(line[:i+1])
		if after >= want {
			return r2.Add(line[i-1], r2.Scale((want-before)/(after-before), r2.Sub(line[i], line[i-1])))
		}
	}
	return line[len(line)-1]
}

// tapeTo returns half the length of a tape over a line and its mirror image, whose middle
// is the line's start.
func tapeTo(line []r2.Vec) float64 {
	end := line[len(line)-1]
	both := slices.Clone(line)
	for _, p := range line {
		both = append(both, r2.Vec{X: -p.X, Y: p.Y})
	}
	return (Girth(both) - 2*math.Abs(end.X)) / 2
}

// shoulderGirth returns the girth of the shoulders over both arms, mm, that the survey's
// women or men of this height, bust girth, shoulder length, upper arm and back have on
// average (ANSUR II, 993 women and 2,041 men; the standard deviation about it is 24 and 23 mm).
// The survey measured the back at the armpits, where it is wider.
func (k *maker) shoulderGirth() float64 {
	c := [6]float64{132.1, 0.135, 0.158, 1.481, 0.594, 0.399}
	if k.model == &shapes().Men {
		c = [6]float64{127.5, 0.095, 0.275, 1.404, 0.656, 0.354}
	}
	m := k.m
	return c[0] + c[1]*m[body.Height] + c[2]*m[body.BustGirth] + c[3]*m[body.ShoulderLength] +
		c[4]*m[body.UpperArmGirth] + c[5]*m[body.BackWidth]
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
	const top = 2 * armStep // of the arm, which is round
	for i := int(top / armStep); i >= 0; i-- {
		a.radius[i] = a.radius[i+1]
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
	if f.arms == nil {
		return least
	}
	// Beside a wide trunk the line does not pass through the arm.
	for _, loop := range sections(points, f.Triangles[f.limbs:], 0) {
		if !about(loop, r2.Vec{}) && near(loop) {
			least = min(least, Girth(loop))
		}
	}
	return least
}

// near reports whether a loop comes near the origin, nearer than that of the other arm.
func near(loop []r2.Vec) bool {
	const mm = 100.0
	return slices.ContainsFunc(loop, func(p r2.Vec) bool { return r2.Norm(p) < mm })
}
