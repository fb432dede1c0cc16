package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/wear"
)

// capShape is the sleeve above the underarm. Its halves are each drawn from
// the top of the cap at the origin to the underarm at (width, height), the
// back one mirrored.
type capShape struct {
	biceps  float64 // width at the underarm, front and back together
	height  float64
	halves  [2]geom.Path // back, front
	lean    float64      // of the sleeve seams at the underarm, inward positive
	notchAt float64      // of the shoulder in front of the cap's top, mm along the cap
}

// capWidth returns the width of the front or the back half at the underarm, mm.
func (c capShape) capWidth(side int) float64 { return c.halves[side].End().X }

// elbowWidth returns the sleeve's width at the elbow for a cap of the height,
// mm: as measured, but at least that of a straight seam, so wide that the sleeve
// has room for the upper arm half-way to the elbow, and at most the biceps.
func (f *figure) elbowWidth(biceps, height float64) float64 {
	if f.elbowShape == elbowUpright {
		return biceps
	}
	straight := biceps + (f.wrist-biceps)*(f.shoulderToElbow-height)/(f.armLength-height)
	least := math.Min(straight, biceps)
	if below := f.shoulderToElbow/2 - height; below > 0 {
		least = math.Max(least, biceps-(biceps-math.Min(f.roomInSleeve(), biceps))*(f.shoulderToElbow-height)/below)
	}
	return clamp(f.elbow, least, math.Max(biceps, straight))
}

// roomInSleeve returns the least girth in mm of a sleeve around the upper arm, 0 if the arm
// is unknown. Worn, a knit gives half of its stretch.
func (f *figure) roomInSleeve() float64 {
	if f.stretch > 0 {
		return f.body.Value(body.UpperArmGirth)/(1+f.stretch/2) + 2
	}
	return f.roomForArm()
}

// roomForArm returns the least girth in mm of a sleeve or an armhole that the arm passes, 0 if
// the arm is unknown.
func (f *figure) roomForArm() float64 {
	room, err := wear.Arm.Girth(f.body.Find, f.stretch)
	if err != nil {
		return 0
	}
	return room + 2 // for the curves of the seams
}

// capTail is the end of an armhole's lower curve, moved so that the underarm
// lies at the origin and the curve arrives along +x. The cap copies it, so that
// cap and armhole lie on each other under the arm. The zero tail copies
// nothing.
type capTail struct {
	curve geom.Segment
	used  bool
}

// tailOf returns the last length mm of an armhole.
func tailOf(a armhole, length float64) capTail {
	whole := a.lower.Length()
	part := a.lower
	if length < whole {
		part = a.lower.Part(a.lower.ParamAt(whole-length), 1)
	}
	m := geom.Shift(part.P3.Neg()).Then(geom.Turn(geom.Point{}, -part.Tangent(1).Angle()))
	return capTail{part.Move(m), true}
}

// capHalf draws half a cap: down from the top, where it is level, through the
// middle of the straight line to the underarm, arriving square to the sleeve
// seam.
func capHalf(width, height, push, lean float64, tail capTail) geom.Path {
	under := geom.Pt(width, height)
	beta := math.Atan2(height, width)
	middle := under.Mul(0.5).Add(geom.Pt(height, -width).Mul(push))
	slope := beta + 0.34*(math.Pi/2-beta) // at the middle
	if !tail.used {
		along := geom.Polar(1, slope)
		return geom.Path{
			arc(geom.Pt(0, 0), geom.Pt(1, 0), middle, along, 0.62, 0.55),
			arc(middle, along, under, geom.Polar(1, lean), 0.55, 0.62),
		}
	}
	copied := tail.curve.Move(geom.Turn(geom.Point{}, lean).Then(geom.Shift(under)))
	// The middle must fall more steeply than the way to the copied curve, or
	// the cap would bend both ways below it.
	way := copied.P0.Sub(middle).Angle()
	slope = math.Max(slope, way+math.Min(0.5*(way-copied.Tangent(0).Angle()), 0.5*(88*degree-way)))
	along := geom.Polar(1, slope)
	return geom.Path{
		arc(geom.Pt(0, 0), geom.Pt(1, 0), middle, along, 0.62, 0.55),
		arc(middle, along, copied.P0, copied.Tangent(0), 0.55, 0.62),
		copied,
	}
}

// copyTail returns the part of the armhole that a cap of the size can copy: as
// much of 55 mm as leaves the cap a smooth way down to it from its middle.
func copyTail(a armhole, width, height, push, lean float64) capTail {
	middle := geom.Pt(width, height).Mul(0.5).Add(geom.Pt(height, -width).Mul(push))
	smooth := func(length float64) bool {
		copied := tailOf(a, length).curve.Move(geom.Turn(geom.Point{}, lean).Then(geom.Shift(geom.Pt(width, height))))
		way := copied.P0.Sub(middle)
		return way.X > 0 && way.Norm() > 15 && way.Angle() < 80*degree && way.Angle()-copied.Tangent(0).Angle() > 5*degree
	}
	lo, hi := 8.0, 55.0
	switch {
	case smooth(hi):
		return tailOf(a, hi)
	case !smooth(lo):
		return capTail{}
	}
	for hi-lo > 0.05 {
		if m := (lo + hi) / 2; smooth(m) {
			lo = m
		} else {
			hi = m
		}
	}
	return tailOf(a, lo)
}

// capFit says whether a cap fits its armhole.
type capFit int

const (
	capFits     capFit = iota
	armTooBig          // the flattest caps are too long for the armhole
	armTooSmall        // even the steepest is too short
)

// draftCap solves for the cap's height so that the cap is as long as the
// armhole and its ease, and divides the width so that the shoulder lies at the
// top.
func (f *figure) draftCap(t *trunk, biceps float64) (capShape, capFit) {
	c := capShape{biceps: biceps}
	lengths := [2]float64{t.armholes[back].length(), t.armholes[front].length()}
	want := lengths[back] + lengths[front] + f.capEase
	wantBack := lengths[back] + backCapEase*f.capEase
	var tails [2]capTail
	draw := func(height, shift float64) {
		c.height = height
		c.lean = math.Atan2((biceps-f.elbowWidth(biceps, height))/2, f.shoulderToElbow-height)
		for side, width := range [2]float64{biceps * (0.5 + shift), biceps * (0.5 - shift)} {
			c.halves[side] = capHalf(width, height, capPush[side], c.lean, tails[side])
		}
	}
	const flattest = 15.0
	highest := math.Min(400, f.shoulderToElbow-60)
	solve := func() bool {
		solved := true
		fit := func(shift float64) {
			h, ok := root(flattest, highest, 1e-6, func(h float64) float64 {
				draw(h, shift)
				return c.halves[back].Length() + c.halves[front].Length() - want
			})
			solved = solved && ok
			draw(h, shift)
		}
		miss := func(shift float64) float64 {
			fit(shift)
			return c.halves[back].Length() - wantBack
		}
		shift, ok := root(-widestShift, widestShift, 1e-7, miss)
		if !ok && solved {
			// Even the widest share leaves one half too short or long: the
			// shoulder notch goes off the top by the rest.
			shift = widestShift
			if math.Abs(miss(-widestShift)) < math.Abs(miss(widestShift)) {
				shift = -widestShift
			}
		}
		if solved {
			fit(shift)
		}
		// The cap's length jumps where a curve changes its kind; a sign change
		// there is no solution.
		return solved && math.Abs(c.halves[back].Length()+c.halves[front].Length()-want) < 0.01
	}
	if !solve() {
		draw(highest, 0)
		if c.halves[back].Length()+c.halves[front].Length() < want {
			return c, armTooSmall
		}
		return c, armTooBig
	}
	// The size of the cap decides how much of the armhole it can copy.
	plain := c
	for side := range tails {
		tails[side] = copyTail(t.armholes[side], c.capWidth(side), c.height, capPush[side], c.lean)
	}
	if !solve() {
		c = plain
	}
	c.notchAt = c.halves[back].Length() - wantBack
	return c, capFits
}

// capPush is how far the middle of a half is pushed out, as a share of the
// straight line's length: the back is fuller.
var capPush = [2]float64{0.025, 0}

// widestShift is the largest share of the biceps that is moved from the front
// half to the back or the other way.
const widestShift = 0.08

// backCapEase is the back's share of the cap ease (common practice: a little
// more than half, because the arm moves forward).
const backCapEase = 0.58
