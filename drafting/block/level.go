package block

import (
	"math"

	"tapeline/drafting/body"
)

// levelHem sets by how much the back, the sides and the front are longer or shorter than one
// another, so that the hem hangs level and the side seams plumb. The rates are those at which
// garments hang so on forms of the survey's women and men.
func (f *figure) levelHem(kind torsoKind) {
	b := f.body
	hip := f.ease[string(body.HipGirth)]
	lies, woman := onSeat(hip), b.Womanly()
	steep := woman * clamp(b.Value(body.ShoulderSlope)-22, -8, 8) // steeper than usual, degrees
	surplus := woman * (b.BustSurplus().Value - 18)
	hangs := sideHangs + clamp(0.03*(b.Value(body.HipGirth)-1010), -10, 15) - clamp(0.27*surplus, -8, 12) - 0.5*steep
	f.seat, f.lean = lies*f.along*seatLength(b), heldOut(hip)*sideLean(b)
	f.overHip = overHip - (1-lies)*hangs
	f.frontHangs = (1 - lies) * 0.9 * steep
	switch kind {
	case jacketTorso:
		f.seat = f.hipsLetDown(lies)
		f.overHip -= (1 - woman) * lies * 11 // a man's hips do not hold up the sides
		f.frontHangs += (1 - woman) * lies * 4.5
		f.hangOnMan(lies)
	case straightTorso: // steep shoulders and a bust swing loose sides forward
		f.lean -= (1 - heldOut(hip)) * (woman*0.008 + 0.0022*steep + clamp(0.0003*surplus, -0.005, 0.012))
		f.hangOnMan(lies)
	case shapedTorso:
		if !f.sleeveless {
			f.overHip += woman * sleevesLift(b)
			f.seat = max(0, f.seat-lies*woman*sleevesHold(b))
		}
		f.frontHangs += woman * shapedFront(b, f.sleeveless)
	}
	f.frontHangs += f.altered[alterHemFront]
	f.overHip += f.altered[alterHemSide]
}

// hangOnMan shortens the front of a loose garment without a bust to fill it, and leans its
// sides forward.
func (f *figure) hangOnMan(lies float64) {
	man := 1 - f.body.Womanly()
	f.frontHangs -= man * (1 - lies) * 5
	f.overHip += man * (1 - lies) * 2.5
	f.lean += man * (1 - heldOut(f.ease[string(body.HipGirth)])) * 0.01
}

// hipsLetDown returns by how much the centre back of a jacket is longer at the hip, mm: it hangs
// from the shoulders, and hips that are full for a woman's bust let it down, the more it lies on
// them.
func (f *figure) hipsLetDown(lies float64) float64 {
	woman := f.body.Womanly()
	full := f.body.Value(body.HipGirth) - f.body.Value(body.BustGirth) - 76
	most := 5 - 5*f.altered[alterSwayBack]/maxCentreChange // a sway back has moved the hip line already
	return clamp((1-woman)*2-woman*(0.0125+0.031*lies)*full, -most, most)
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

// sleevesHold returns by how much the centre back of a torso with darts and sleeves is shorter, mm: a
// waist that is full for the bust lets the back down, full arms hold it up.
func sleevesHold(b body.Body) float64 {
	waist, arm := b.Value(body.BustGirth)-b.Value(body.WaistGirth)-88, b.Value(body.UpperArmGirth)-306
	return clamp(1.5-0.024*waist-0.024*arm, -3, 6)
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
	waist := b.Value(body.BustGirth) - b.Value(body.WaistGirth) - 88
	broad := b.Value(body.BackWidth) - 372
	return clamp(2-0.33*surplus+0.07*bust-0.053*hip-0.02*waist-0.047*broad, -15, 15)
}

// panelDrop returns by how much the centre front of a jacket with side panels is longer at the hem,
// mm: its front falls from the shoulder, and a full waist takes up length.
func (f *figure) panelDrop() float64 {
	if !f.panelled() {
		return 0
	}
	surplus := f.body.BustSurplus().Value
	waist, hip := f.body.Value(body.WaistGirth), f.body.Value(body.HipGirth)
	free := 1 - onSeat(f.ease[string(body.HipGirth)])
	more := 11 + 0.048*(waist-885) - 0.38*(surplus-18) - 0.03*(hip-waist-158) + free*(0.016*(waist-860)+0.5)
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
