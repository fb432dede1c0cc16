package block

import (
	"math"

	"tapeline/drafting/body"
)

// levelHem sets by how much the back, the sides and the front are longer or shorter than one
// another, so that the hem hangs level and the side seams plumb. The rates are those at which
// garments hang so on forms of the survey's women; men have those of a straight torso.
func (f *figure) levelHem(kind torsoKind) {
	b := f.body
	hip := f.ease[string(body.HipGirth)]
	lies := onSeat(hip)
	f.seat, f.lean = lies*f.along*seatLength(b), heldOut(hip)*sideLean(b)
	if kind == jacketTorso { // it hangs from the shoulders
		f.seat = 0
	}
	steep := clamp(b.Value(body.ShoulderSlope)-22, -8, 8) // steeper than usual, degrees
	surplus := b.Womanly() * (b.BustSurplus().Value - 18)
	hangs := sideHangs + clamp(0.03*(b.Value(body.HipGirth)-1010), -10, 15) - clamp(0.27*surplus, -8, 12) - 0.5*steep
	f.overHip = overHip - (1-lies)*hangs
	f.frontHangs = (1 - lies) * 0.9 * steep
	if kind == shapedTorso {
		if !f.sleeveless {
			f.overHip += b.Womanly() * sleevesLift(b)
		}
		f.frontHangs += b.Womanly() * shapedFront(b, f.sleeveless)
	}
	f.frontHangs += f.altered[alterHemFront]
	f.overHip += f.altered[alterHemSide]
}

// swingSides leans the side seams forward at the hem by the alteration, as far as a short
// garment lets them lean.
func (f *figure) swingSides() {
	const most = 0.3 // radians
	if below := f.hem - f.napeToWaist - f.hipDepth(); below > 0 {
		f.lean += clamp(math.Atan(f.altered[alterSideSeam]/max(below-leanOver/2, below/2)), -most, most)
	}
}

// overHip is by how much a side seam that passes the hip is longer, mm: it goes over the
// curve of the hip (common practice: 3 to 6; on forms hems hung higher at the side by 2 to 8).
const overHip = 3.0

// sleevesLift returns by how much the sleeves of a torso with darts hold its sides up, mm: the more
// the fuller the arms are beside the hips, and a large bust.
func sleevesLift(b body.Body) float64 {
	bust := max(0, b.Value(body.BustGirth)-1000)
	return clamp(3.5+0.09*(b.Value(body.UpperArmGirth)-304)-0.05*(b.Value(body.HipGirth)-1006)+0.055*bust, -6, 16)
}

// sideHangs is by how much a garment that does not lie on the hips hangs lower at the sides, mm: its
// cloth falls from the armholes there (on forms coats hung 20 mm lower, robes 14).
const sideHangs = 17.0

// shapedFront returns by how much the centre front of a torso with darts is longer at the hem, mm:
// the cloth that the dart shapes over a long front is not all taken up by the bust, while a
// full bust beside narrow hips holds the front out. Sleeves hold the front by its armholes.
func shapedFront(b body.Body, sleeveless bool) float64 {
	bust, hip := b.Value(body.BustGirth)-928, b.Value(body.HipGirth)-1006
	surplus := b.BustSurplus().Value - 17
	if sleeveless {
		return clamp(2-0.17*surplus+0.02*bust-0.013*hip, -8, 8)
	}
	return clamp(2-0.33*surplus+0.07*bust-0.04*hip, -15, 15)
}

// panelDrop returns by how much the centre front of a jacket with side panels is longer at the hem,
// mm: its front falls from the shoulder, and a full waist takes up length.
func (f *figure) panelDrop() float64 {
	if !f.panelled() {
		return 0
	}
	surplus := f.body.BustSurplus().Value
	more := 10 + 0.048*(f.body.Value(body.WaistGirth)-885) - 0.38*(surplus-18)
	return clamp(surplus/10, 0, 1) * clamp(more, -5, 30)
}

// seatLength returns by how much a back is longer at the centre than at the side seam, from
// waist to hip, so that its hem hangs level, mm: the cloth goes over the seat, and a back that
// falls free of a hollow waist is held out by it. Men whose hips are hardly fuller than
// their waist have none. (Common practice: 10 to 15 for a full seat; the rates are those at
// which shift dress, princess dress, toile and knit top hang level on forms.)
func seatLength(b body.Body) float64 {
	hip := b.Value(body.HipGirth)
	spring := hip - b.Value(body.WaistGirth) - 40 + 120*b.Womanly()
	return clamp(spring/140, 0, 1) * clamp(0.028*(hip-660), 0, 20)
}

// onSeat returns how far a garment with that ease at the hip lies on the seat, from 0 to 1:
// a loose one hangs from the shoulders and hardly touches it. (On forms coats, robes and
// jackets hung lower behind.)
func onSeat(ease float64) float64 { return clamp((180-ease)/120, 0, 1) }

// heldOut returns how far the seat holds out the back of a garment with that ease at the hip,
// from 0 to 1. (On forms the side seams of robes with 140 mm swung forward when they leaned.)
func heldOut(ease float64) float64 { return clamp((140-ease)/80, 0, 1) }

// sideLean returns by how much the side seams lean from the back towards the front below
// the hip, so that they hang plumb, in radians: a skirt falls free from bust and belly in
// front and is held out by the seat behind, which swings its seams back, the more the
// fuller the bust is. (The rates are those at which shift dresses hang plumb on forms.)
func sideLean(b body.Body) float64 {
	return b.Womanly() * clamp(0.035+0.00013*(b.Value(body.BustGirth)-1000), 0, 0.1)
}
