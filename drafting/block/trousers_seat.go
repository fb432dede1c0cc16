package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// trouserDraft is a drawn pair of trousers.
type trouserDraft struct {
	seat
	legs   [2]leg
	top    [2]geom.Point   // the waist at the centre
	sides  [2]geom.Segment // waist to hip
	waists [2]drawnWaist
}

// crotchLength returns the length of the crotch seam from waist to waist, mm.
func (d *trouserDraft) crotchLength() float64 {
	var sum float64
	for i, l := range d.legs {
		sum += l.crotch.Length() + l.crotch.P3.Dist(d.top[i])
	}
	return sum
}

// maxForkDrop is the largest drop of the back's fork below the front's, mm (5
// to 15 is usual), so that even the shortest leg has an inseam.
const maxForkDrop = 45

// fitCrotch solves for the seat that gives the crotch seam its length, and for
// the waist on it.
func (s *trousers) fitCrotch() (trouserDraft, error) {
	var plan waistPlan
	draw := func(t float64) trouserDraft {
		d := trouserDraft{seat: s.seatAt(t)}
		d.legs = s.drawLegs(d.seat)
		plan = s.planWaist(&d)
		return d
	}
	up := clamp(s.depth-s.top.hip-30, 0, maxShift)
	lo, hi := -1-up/shiftRate, 1+maxShift/shiftRate
	length := func(t float64) float64 {
		d := draw(t)
		return d.crotchLength()
	}
	t, ok := root(lo, hi, 1e-9, func(t float64) float64 { return length(t) - s.crotch })
	if !ok {
		return trouserDraft{}, refuse(fmt.Sprintf(
			"with this rise, hip and waist the crotch seam can be drafted from %.0f to %.0f mm long, from waist to waist; "+
				"%.0f mm are asked for, the ease and what a lower waist takes off counted",
			length(lo), length(hi), s.crotch), body.TotalCrotchLength, body.BodyRise, body.HipGirth)
	}
	d := draw(t)
	if drop := d.legs[back].fork.Y - d.legs[front].fork.Y; drop > maxForkDrop {
		return d, refuse(fmt.Sprintf("the inside of the back leg would start %.0f mm lower than that of the front; at "+
			"most %d mm can be drafted: the thigh is too wide for its length",
			drop, maxForkDrop), body.HipGirth, body.ThighGirth, body.InsideLeg, body.BodyRise)
	}
	if shift := d.depth - s.depth; math.Abs(shift) > 3 {
		s.warn("The crotch line is drawn %.0f mm %s than the body rise asks for, so that the crotch seam is %.0f mm "+
			"long: measure rise and crotch length again.",
			math.Abs(shift), map[bool]string{true: "lower", false: "higher"}[shift > 0], s.crotch)
	}
	return d, s.fitWaist(&d, plan)
}

// waistPlan says how the waist is taken in between centre and side.
type waistPlan struct {
	darts  [2][]takeUp
	spring float64 // of the side seams, about
	broken error
}

// Where the front darts of trousers lie: one on the crease, two to both sides of
// it, as shares of the waist. At the back they lie as a skirt's.
const (
	besideCrease  = 0.14 // of two front darts, the inner's way to the centre
	outsideCrease = 0.22
)

// dartWidths returns what the darts of back and front take out, mm.
func (s *trousers) dartWidths() [2]float64 {
	b, f := shareDarts(hipDarts(s.hip - s.pleats - s.waist))
	return [2]float64{b, f}
}

// sideSpring returns about how far each side seam springs out from waist to
// hip, beyond what darts and leaning centre seams take in, mm.
func (s *trousers) sideSpring(tilt float64) float64 {
	lean := s.top.hip * (math.Tan(s.frontLean()) + math.Tan(tilt))
	darts := s.dartWidths()
	return (s.hip - s.pleats - s.waist - darts[back] - darts[front] - lean) / 2
}

// bellyAt returns the share of the belly in one side seam's spring, mm.
func (s *trousers) bellyAt(i int) float64 {
	if i == front {
		return -s.belly / 2
	}
	return s.belly / 2
}

// planWaist places the darts, as wide as a skirt's for every seat, and the
// waist at the centre: in front as a skirt's, at the back raised by what the
// tilt opens at the hip.
func (s *trousers) planWaist(d *trouserDraft) waistPlan {
	hip := s.top.hip
	widths := s.dartWidths()
	p := waistPlan{spring: s.sideSpring(d.tilt)}
	scale := (hip + 30) / (handbookHipDepth + 30)
	for i, width := range widths {
		place := skirtBackDarts
		if i == front {
			place = skirtFrontDarts
			from := d.legs[front].centre.X + hip*math.Tan(s.frontLean())
			crease := clamp(-from/(d.legs[front].hip.X-p.spring-from), 0.3, 0.6)
			place.single, place.inner, place.outer = crease, crease-besideCrease, crease+outsideCrease
		}
		if i == front && s.pleats > 0 {
			p.darts[i] = []takeUp{{at: place.single, width: width + s.pleats, length: 60, pleat: true}}
			continue
		}
		takes, err := place.scale(scale).darts(width)
		if err != nil {
			p.broken = err
		}
		p.darts[i] = takes
	}
	side := hip - math.Sqrt(math.Max(0, hip*hip-p.spring*p.spring)) // level of the waist there
	angle := 1.35 * math.Atan2(p.spring, hip)
	for i := range 2 {
		l := &d.legs[i]
		fall := side + sideRise(openRise(s.waist/2, 0, angle, p.darts[i]))
		long := l.centre.Y - fall
		if i == front {
			long = (long + s.bellyRise + d.frontUp) / -l.up.Y
		} else {
			long += s.hipWidth[back]*d.tilt - backDrop - s.altered[alterSwayBack]
		}
		d.top[i] = l.centre.Add(l.up.Mul(long))
	}
	return p
}

// fitWaist solves for the spring of the side seams that gives the waist its
// girth.
func (s *trousers) fitWaist(d *trouserDraft, p waistPlan) error {
	if p.broken != nil {
		return refuse(p.broken.Error(), body.WaistGirth, body.HipGirth)
	}
	if most := 0.6 * s.top.hip; math.Abs(p.spring)+s.belly/2 > most {
		return refuse(fmt.Sprintf("the side seams would spring by %.0f mm in the %.0f mm from waist to hip; at most %.0f "+
			"mm can be drafted",
			math.Abs(p.spring)+s.belly/2, s.top.hip, most), body.WaistGirth, body.HipGirth, body.WaistToHip)
	}
	var broken error
	shape := func(spring float64) float64 {
		var sum float64
		for i := range d.legs {
			l := &d.legs[i]
			d.sides[i] = sideAboveHip(l.hip, l.thigh.Tangent(0), spring+s.bellyAt(i), s.top.hip)
			drawn, err := waistline{
				centre: d.top[i], along: l.up.Right(),
				side: d.sides[i].P0, into: d.sides[i].Tangent(0).Left(), takes: p.darts[i],
			}.draw()
			if err != nil {
				broken = err
				return 0
			}
			d.waists[i] = drawn
			sum += drawn.length()
		}
		return sum - s.waist
	}
	// Near the spring that was planned; far from it a short side seam turns back.
	reach := 20.0
	spring, ok := root(p.spring-reach, p.spring+reach, 1e-9, shape)
	if !ok && broken == nil {
		reach *= 2
		spring, ok = root(p.spring-reach, p.spring+reach, 1e-9, shape)
	}
	if broken != nil {
		return refuse("no room for the darts: "+broken.Error(), body.WaistGirth, body.HipGirth)
	}
	if !ok {
		short := 2 * math.Min(math.Abs(shape(p.spring-reach)), math.Abs(shape(p.spring+reach)))
		return refuse(fmt.Sprintf("with side seams of %.0f mm from waist to hip the waist comes out at least %.0f mm "+
			"from the %.0f mm asked for",
			s.top.hip, short, 2*s.waist), body.WaistGirth, body.HipGirth, body.WaistToHip)
	}
	shape(spring)
	return nil
}

// sideAboveHip returns a side seam of a given length from the waist to the hip,
// where it arrives along a direction, springing out by spring.
func sideAboveHip(hip, into geom.Point, spring, length float64) geom.Segment {
	var s geom.Segment
	for y, i := hip.Y-length, 0; i < 10; i++ {
		waist := geom.Pt(hip.X-spring, y)
		l := waist.Dist(hip)
		chord := math.Atan2(spring, hip.Y-y)
		lean := chord + 0.35*(chord-fromDown(into))
		s = geom.Cubic(waist, waist.Add(down(lean).Mul(l/3)), hip.Sub(into.Mul(0.38*l)), hip)
		y += s.Length() - length
	}
	return s
}
