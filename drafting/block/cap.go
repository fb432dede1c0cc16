package block

import (
	"math"

	"tapeline/drafting/geom"
)

// capShape is the sleeve above the underarm. Its halves are each drawn from
// the top of the cap at the origin to the underarm at (width, height), the
// back one mirrored.
type capShape struct {
	biceps  float64 // width at the underarm, front and back together
	height  float64
	halves  [2]geom.Path // back, front
	lean    float64      // of the sleeve seams at the underarm, inward positive
	notchAt float64      // by how much the shoulder falls in front of the cap's top, mm along the cap
}

// capWidth is the share of the biceps in front or at the back.
func (c capShape) capWidth(side int) float64 { return c.halves[side].End().X }

// elbowWidth is the sleeve's width at the elbow for a cap of that height: as
// measured, but not narrower than a straight seam gives, nor wider than the
// biceps.
func (f *figure) elbowWidth(biceps, height float64) float64 {
	straight := biceps + (f.wrist-biceps)*(f.shoulderToElbow-height)/(f.armLength-height)
	return clamp(f.elbow, math.Min(straight, biceps), math.Max(biceps, straight))
}

// capHalf draws half a cap: down from the top, level there, through the middle
// of the straight line to the underarm, arriving square to the sleeve seam.
// The lower curve is given the armhole's own bend at the underarm, so that cap
// and armhole lie on each other there.
func capHalf(width, height, push, lean float64, lower geom.Segment) geom.Path {
	under := geom.Pt(width, height)
	beta := math.Atan2(height, width)
	middle := under.Mul(0.5).Add(geom.Pt(height, -width).Mul(push))
	along := geom.Polar(1, beta+0.34*(math.Pi/2-beta))
	into := geom.Polar(1, lean)
	top := arc(geom.Pt(0, 0), geom.Pt(1, 0), middle, along, 0.62, 0.55)
	bottom := arc(middle, along, under, into, 0.55, 0.62)
	if bend := math.Abs(lower.Curvature(1)); bend > 0 {
		// End curvature of a cubic with handle h: 2d/3h², d the distance of
		// its other handle from the end tangent.
		d := math.Abs(bottom.P1.Sub(under).Cross(into))
		h := math.Sqrt(2 * d / (3 * bend))
		at := under.Dist(bottom.P2) / 0.62
		bottom.P2 = under.Sub(into.Mul(clamp(h, 0.40*at, 0.85*at)))
	}
	return geom.Path{top, bottom}
}

// capFit says whether a cap fits its armhole.
type capFit int

const (
	capFits     capFit = iota
	armTooBig          // even the flattest cap is too long for the armhole
	armTooSmall        // even the steepest is too short
)

// draftCap solves the cap's height so that it is as long as the armhole and
// its ease, and shares the width so that the shoulder falls at the top.
func (f *figure) draftCap(t *trunk, biceps float64) (capShape, capFit) {
	c := capShape{biceps: biceps}
	lengths := [2]float64{t.armholes[back].length(), t.armholes[front].length()}
	want := lengths[back] + lengths[front] + f.capEase
	wantBack := lengths[back] + backCapEase*f.capEase
	draw := func(height, shift float64) {
		c.height = height
		c.lean = math.Atan2((biceps-f.elbowWidth(biceps, height))/2, f.shoulderToElbow-height)
		c.halves[back] = capHalf(biceps*(0.5+shift), height, 0.025, c.lean, t.armholes[back].lower)
		c.halves[front] = capHalf(biceps*(0.5-shift), height, 0, c.lean, t.armholes[front].lower)
	}
	const flattest = 15.0
	highest := math.Min(400, f.shoulderToElbow-60)
	solved := true
	fit := func(shift float64) {
		h, ok := root(flattest, highest, 1e-6, func(h float64) float64 {
			draw(h, shift)
			return c.halves[back].Length() + c.halves[front].Length() - want
		})
		solved = solved && ok
		draw(h, shift)
	}
	shift, ok := root(-0.06, 0.06, 1e-7, func(shift float64) float64 {
		fit(shift)
		return c.halves[back].Length() - wantBack
	})
	if !ok && solved {
		// Even the widest share leaves one half too short: its end is taken
		// and the shoulder notch set off the top.
		fit(-0.06)
		low := math.Abs(c.halves[back].Length() - wantBack)
		fit(0.06)
		shift = 0.06
		if low < math.Abs(c.halves[back].Length()-wantBack) {
			shift = -0.06
		}
	}
	if !solved {
		draw(flattest, 0)
		if c.halves[back].Length()+c.halves[front].Length() > want {
			return c, armTooBig
		}
		return c, armTooSmall
	}
	fit(shift)
	c.notchAt = c.halves[back].Length() - wantBack
	return c, capFits
}

// backCapEase is the back's share of the cap ease (common practice: a little
// more than half, for the arm moves forward).
const backCapEase = 0.58
