package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// upper is the part of the torso above the armholes that depends on nothing
// below: necklines, shoulders and the balance of front against back. Back and
// front are each drawn with the centre line on x = 0, the side at +x and the
// nape at the origin, so that the waist lies at napeToWaist on both.
type upper struct {
	backNeck     geom.Segment // nape to back neck point
	backShoulder [2]geom.Path // neck point to dart, dart to shoulder point; one part without a dart
	shoulderDart geom.Point   // its apex
	backTip      geom.Point   // shoulder point
	backSquare   geom.Point   // direction square to the shoulder there, into the armhole

	frontNeck     geom.Segment // front pit to front neck point
	frontShoulder geom.Segment
	frontSquare   geom.Point

	bustPoint geom.Point
	surplus   float64 // by how much the front is longer than the back above the bust
	lift      float64 // the part of surplus taken by the bust dart
}

func (u *upper) hasShoulderDart() bool { return u.backShoulder[1] != nil }

// draftUpper draws necklines and shoulders.
func (f *figure) draftUpper() (upper, error) {
	var u upper
	c, open := f.closedShoulder()
	frontSlope := f.frontSlope()

	// One unknown, the width of the back neck, gives both necklines; on a body
	// whose sides differ it gives those of both sides.
	a, ok := root(25, 160, 1e-7, func(a float64) float64 {
		length := f.neckLength(a)
		if f.mate != nil {
			length = (length + f.mate.neckLength(a)) / 2
		}
		return length - f.neck
	})
	if !ok {
		return u, refuse(fmt.Sprintf("no neckline of %.0f mm can be drawn", 2*f.neck), body.NeckBaseGirth)
	}
	run := f.shoulder + f.shoulderEase // as sewn
	at := shoulderDartAt * run
	h := f.neckRise()
	back, front := f.necklines(a)
	u.backNeck = back
	neckPoint := geom.Pt(a, -h)
	along := geom.Polar(1, c)
	if f.shoulderDart > 0 {
		mouth := neckPoint.Add(along.Mul(at))
		u.shoulderDart = mouth.Add(along.Right().Mul(shoulderDartLength))
		turn := geom.Turn(u.shoulderDart, open)
		u.backShoulder[0] = geom.Path{geom.Line(neckPoint, mouth)}
		u.backShoulder[1] = geom.Path{geom.Line(mouth, neckPoint.Add(along.Mul(run)))}.Move(turn)
		u.backTip = u.backShoulder[1].End()
		u.backSquare = u.backShoulder[1].EndTangent().Right()
	} else {
		u.backTip = neckPoint.Add(along.Mul(run))
		u.backShoulder[0] = geom.Path{geom.Line(neckPoint, u.backTip)}
		u.backSquare = along.Right()
	}

	yf, err := f.balance(&u, a, h)
	if err != nil {
		return u, err
	}
	u.frontNeck = front.Move(geom.Shift(geom.Pt(0, yf))).Reverse()
	frontPoint := geom.Pt(a-2, yf)
	fs := geom.Polar(1, frontSlope)
	u.frontShoulder = geom.Line(frontPoint, frontPoint.Add(fs.Mul(f.shoulder)))
	u.frontSquare = fs.Right()
	return u, nil
}

// closedShoulder returns the angle at which the back shoulder is drawn with its
// dart closed, and the turn of the part beyond the dart about the dart's apex
// that opens it. The slope is that of the opened line; the closed one is lower
// by the difference.
func (f *figure) closedShoulder() (angle, open float64) {
	run := f.shoulder + f.shoulderEase
	open = 2 * math.Asin(f.shoulderDart/2/shoulderDartLength)
	flat := geom.Pt(run, 0).Rotate(geom.Pt(shoulderDartAt*run, shoulderDartLength), open)
	return f.slope - 2*degree - f.forward - flat.Angle(), open
}

func (f *figure) frontSlope() float64 { return f.slope + 2*degree + f.forward }

// necklines returns the neckline of the back, from the nape, and of the front,
// to the pit and with the neck point on y = 0, for a back neck a wide. Each is
// square to its centre. Seen from the neck, the front meets its shoulder at 105
// degrees and the back at 75 (common practice), so that they join smoothly.
func (f *figure) necklines(a float64) (back, front geom.Segment) {
	c, _ := f.closedShoulder()
	s := f.frontSlope()
	up := geom.Pt(0, -1)
	back = arc(geom.Pt(0, 0), geom.Pt(1, 0), geom.Pt(a, -f.neckRise()), up.Rotate(geom.Point{}, c+neckTurn),
		0.58, 0.58)
	pit, neckPoint, down := geom.Pt(0, 1.02*a+3), geom.Pt(a-2, 0), geom.Pt(0, 1)
	front, _ = geom.Bowed(pit, geom.Pt(1, 0), neckPoint, down.Rotate(geom.Point{}, s-neckTurn).Neg(), neckBow, 0.4, 0.8)
	return back, front.Reverse()
}

const (
	neckTurn = 15 * degree // of the neckline at the shoulder from square
	neckBow  = 0.19        // of the front from its straight line, as a share of it
)

func (f *figure) neckLength(a float64) float64 {
	back, front := f.necklines(a)
	return back.Length() + front.Length()
}

// shoulderDartAt is the position of the shoulder's dart, as a share of the
// shoulder from the neck point.
const shoulderDartAt = 0.42

// shoulderDartLength is the depth of the shoulder dart's end below the
// shoulder, mm (common practice 70 to 80).
const shoulderDartLength = 75

// balance sets the front neck point at its measured height above the bust
// point. The surplus length of the front over the back goes into the bust dart.
// On a straight front the dart may take less, or none.
func (f *figure) balance(u *upper, a, h float64) (yf float64, err error) {
	u.bustPoint = geom.Pt(f.bustPointX, f.napeToWaist-(f.frontWaist-f.sideNeckToBust))
	round := f.altered[alterRoundBack]
	if !f.hasBust() {
		u.surplus = f.leaveOut(f.expectedSurplus(h))
		return -h - u.surplus + round, nil
	}
	reach := u.bustPoint.X - a + 2
	under := f.sideNeckToBust*f.sideNeckToBust - reach*reach
	if under <= 0 {
		return 0, refuse("the bust point lies farther to the side of the neck point than it is away from it",
			body.SideNeckToBust, body.BustPointWidth)
	}
	yf = u.bustPoint.Y - math.Sqrt(under)
	u.surplus = -h - yf + round
	if !f.shaped && u.surplus < leastSewn {
		u.surplus = f.leaveOut(u.surplus)
		return -h - u.surplus + round, nil
	}
	if u.surplus < leastSurplus || u.surplus > 150 {
		return 0, refuse(fmt.Sprintf("the front would be %.0f mm longer than the back above the bust; from %.0f to 150 mm "+
			"can be drafted", u.surplus, leastSurplus),
			body.FrontWaistLength, body.NapeToWaist)
	}
	if lift := math.Min(f.wantedLift(u.surplus), f.bustSurplus); lift >= leastSewn {
		u.lift = lift
	}
	if rest := u.surplus - f.bustSurplus; rest > 0 {
		u.surplus = f.bustSurplus + f.leaveOut(rest)
		yf = -h - u.surplus + round
	}
	return yf, nil
}

// leastSurplus is the least by which a front over a bust may be longer than the back, in mm:
// a stoop shortens it (our judgement; bodies with a surface have down to -19).
const leastSurplus = -25.0

// maxUneven is the most by which the armhole is shorter in front than behind
// for a bust dart that takes more than the front is longer, in mm.
const maxUneven = 25.0

// wantedLift returns how much the bust dart takes up if the front is longer than
// the back by surplus, mm. The lengths decide where the girths agree with them
// within their spread. A front that was measured shorter still covers a bust: its
// wearer stoops, or the tape slipped. Then the dart takes what the girths let
// expect, less their spread, and the armhole, not the measured length, gives the
// difference, as on a stooping figure (common practice; the limit is ours).
func (f *figure) wantedLift(surplus float64) float64 {
	if !f.shaped {
		return surplus
	}
	g := f.body.BustByGirths()
	lift := math.Max(surplus, math.Min(g.Value-g.Spread, surplus+maxUneven))
	if lift > surplus+1 {
		f.warn("The lengths make the front %+.0f mm longer than the back over the bust; by its girths %.0f mm are usual. "+
			"The bust dart takes up %.0f mm: measure the front and back length to the waist again.", surplus, g.Value, lift)
	}
	return lift
}

// expectedSurplus returns by how much the front of a body is longer than its
// back, over a bust or a belly, for a back neck point h above the nape.
func (f *figure) expectedSurplus(h float64) float64 {
	if f.body.Given(body.FrontWaistLength) {
		return f.frontWaist - f.value(body.NapeToWaist) - h
	}
	return math.Max(fadeIn(f.along*f.body.BustSurplus().Value, 4, 12), f.bellyRise)
}

// Limits to what a front without a dart takes up of the length over the bust, in mm, and
// the share of the rest that lengthens the centre front at the hem (common practice: about
// 10 in the armhole. On forms, fronts of knit tops that had 15 at the hem hung lower by as
// much).
const (
	maxArmholeSurplus = 12.0
	maxHemSurplus     = 6.0
	hemOfSurplus      = 0.2
	minArmholeSurplus = -20.0 // of a front that was measured shorter than the back
	maxCrotchSurplus  = 60.0  // of a body, whose front is held at the crotch
)

// leaveOut places a surplus length of the front that no dart takes up: the
// armhole takes the part that it returns, and the hem of the centre front drops
// by some of the rest.
func (f *figure) leaveOut(surplus float64) (armhole float64) {
	armhole = clamp(surplus, minArmholeSurplus, maxArmholeSurplus)
	share := hemOfSurplus
	if f.legs != nil {
		share = 1
	}
	f.frontDrop = clamp(share*(surplus-armhole), 0, f.maxDrop())
	return armhole
}

// maxDrop is the most by which the lower end of the centre front drops for the bust, mm.
func (f *figure) maxDrop() float64 {
	if f.legs != nil {
		return maxCrotchSurplus
	}
	return maxHemSurplus
}

// fadeIn returns v if it is at least full, 0 up to none, and a smooth value
// between, so that a dart grows from nothing and never appears at once.
func fadeIn(v, none, full float64) float64 {
	t := clamp((v-none)/(full-none), 0, 1)
	return v * t * t * (3 - 2*t)
}
