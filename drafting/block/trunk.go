package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// trunk is back and front below the shoulders, for one depth of armhole. As in
// upper the centre line lies on x = 0 and the side at +x on both pieces.
type trunk struct {
	depth    float64 // level of the underarm
	bustLine float64 // level at which the bust girth holds

	underarmBack, underarmFront float64 // half widths at the underarm
	waistBack, waistFront       float64 // half widths at the waist, darts included
	backDarts, frontDarts       waistDarts
	sideBack, sideFront         geom.Path // underarm to hem; the front with the bust dart closed
	seams                       [2]sideSeam

	dart     bustDart
	armholes [2]armhole // back, front
}

const (
	back = iota
	front
)

// waistDarts are one or two equal upright darts on a piece.
type waistDarts struct {
	count              int
	centre, spacing    float64 // x of their middle; distance between two
	width              float64 // of each at the waist
	top, waist, bottom float64 // levels
}

// widthAt returns the width that the darts take out at level y, mm.
func (d waistDarts) widthAt(y float64) float64 {
	if d.count == 0 || y <= d.top || y >= d.bottom {
		return 0
	}
	share := (y - d.top) / (d.waist - d.top)
	if y > d.waist {
		share = (d.bottom - y) / (d.bottom - d.waist)
	}
	return float64(d.count) * d.width * share
}

// fit reports whether the darts lie well inside a piece of the width at the
// waist.
func (d waistDarts) fit(width float64) bool {
	half := (d.spacing + d.width) / 2
	return d.count == 0 || d.centre-half > 10 && d.centre+half < width-10
}

// xs returns the x of the middles of the darts.
func (d waistDarts) xs() []float64 {
	switch d.count {
	case 0:
		return nil
	case 1:
		return []float64{d.centre}
	}
	return []float64{d.centre - d.spacing/2, d.centre + d.spacing/2}
}

// newWaistDarts returns one dart of the width, or two if it would be over 42 mm
// (common practice: about 40 mm each at most) and two are wanted. A narrow dart
// is also short.
func newWaistDarts(width, centre, top, waist, bottom float64, two bool) waistDarts {
	if width <= 0 {
		return waistDarts{}
	}
	reach := clamp(0.5+width/32, 0, 1)
	d := waistDarts{count: 1, centre: centre, width: width, waist: waist,
		top: waist - reach*(waist-top), bottom: waist + reach*(bottom-waist)}
	if width > 42 && two {
		d.count, d.width = 2, width/2
		d.spacing = math.Max(38, d.width+14)
	}
	return d
}

// draftTrunk solves for the widths so that the true bust line, read at the bust
// and with the waist darts taken out, has the bust girth with its ease. (The
// usual shortcut, the width at the underarm, leaves a low bust centimetres
// short.)
func (f *figure) draftTrunk(u *upper, depth float64) (trunk, error) {
	t := trunk{depth: depth, bustLine: math.Max(u.bustPoint.Y, depth+1)}
	half, ok := root(f.bust-150, f.bust+300, 1e-6, func(half float64) float64 {
		f.shapeSides(&t, u, half)
		return t.bustWidth() + f.sprung() - f.bust - f.trued
	})
	if !ok {
		return t, refuse("no width of back and front gives the bust girth together with the waist", body.BustGirth,
			body.WaistGirth)
	}
	f.shapeSides(&t, u, half)
	if abs(t.bustWidth()+f.sprung()-f.bust-f.trued) > 0.01 {
		return t, refuse("no width of back and front gives the bust girth together with the waist", body.BustGirth,
			body.WaistGirth)
	}
	f.sideToHem(&t)
	if t.waistBack-t.backDarts.widthAt(f.napeToWaist) < 60 || t.waistFront-t.frontDarts.widthAt(f.napeToWaist) < 60 {
		return t, refuse("the waist would leave less than 60 mm of cloth on a piece", body.WaistGirth)
	}
	if !t.backDarts.fit(t.waistBack) || !t.frontDarts.fit(t.waistFront) {
		return t, refuse("the waist darts do not fit beside each other on the piece", body.WaistGirth, body.BustGirth,
			body.HipGirth)
	}
	var err error
	if t.dart, err = f.openBustDart(u, &t); err != nil {
		return t, err
	}
	// Each armhole arrives square to its side seam.
	t.armholes[back], err = draftArmhole(u.backTip, u.backSquare, f.halfBack, t.sideBack.Start(),
		t.sideBack.StartTangent().Left(), backArmholeShape)
	if err != nil {
		return t, refuse(err.Error(), body.BackWidth, body.ShoulderLength)
	}
	intoFront := t.sideFront.StartTangent().Left().Rotate(geom.Point{}, -t.dart.angle)
	t.armholes[front], err = draftArmhole(u.frontShoulder.P3, u.frontSquare, f.halfChest, t.dart.underarm, intoFront,
		frontArmholeShape)
	if err != nil {
		return t, refuse(err.Error(), body.ChestWidth, body.ShoulderLength)
	}
	return t, nil
}

// bustWidth returns half the girth at the bust line, mm.
func (t *trunk) bustWidth() float64 {
	return xAtLevel(t.sideBack, t.bustLine) + xAtLevel(t.sideFront, t.bustLine) -
		t.backDarts.widthAt(t.bustLine) - t.frontDarts.widthAt(t.bustLine)
}

// xAtLevel returns the x at which a side seam passes level y.
func xAtLevel(side geom.Path, y float64) float64 {
	for _, s := range side {
		if y <= s.P3.Y {
			return s.At(crossY(s, y)).X
		}
	}
	return side.End().X
}

// shapeSides draws the side seams and waist darts for a half width at the
// underarm. It divides the suppression of the waist, and likewise the spring of
// the hip, between darts and sides. The sides take equal shares, so that back
// and front seams are mirror images of each other except for what a belly moves
// to the front.
func (f *figure) shapeSides(t *trunk, u *upper, half float64) {
	t.underarmBack = f.backWidthOf(half)
	t.underarmFront = half - t.underarmBack

	taken, spring := half-f.waist, f.hip-f.waist
	darts := f.dartIntake(taken, spring)
	in, out := (taken-darts)/2, (spring-darts)/2
	belly := f.bellyShare
	t.waistBack = t.underarmBack - in - belly
	t.waistFront = t.underarmFront - in + belly

	waist, hip := f.napeToWaist, f.napeToWaist+f.hipDepth()
	bust := t.bustLine
	t.backDarts = newWaistDarts(0.57*darts, 0.46*t.waistBack, math.Max(t.depth+5, bust-25), waist, f.dartEnd(0.72, 140),
		true)
	t.frontDarts = newWaistDarts(0.43*darts, f.bustPointX, f.frontDartTop(bust, t.depth), waist, f.dartEnd(0.55, 100),
		f.bustDart != "waist")

	back, front := sideSeam{in: in + belly, out: out + belly/2}, sideSeam{in: in - belly, out: out - belly/2}
	f.flareSides(u, t, &back, &front)
	seat := seatToHipWidth * f.altered[alterSeat]
	back.out, front.out = back.out+seat, front.out-seat
	if f.panelled() {
		f.hangStraight(t, &back, &front)
	}
	if f.endsAtWaist() {
		back.out, front.out = 0, 0
	}
	back.top, back.waist, back.hip = t.depth, waist, hip
	front.top, front.waist, front.hip = t.depth, waist, hip
	back.lean, back.leanFrom = f.lean, hip
	front.lean, front.leanFrom = -f.lean, hip
	if belly > 0 || front.flare > 0 || back.flare > 0 {
		// The front seam leans more, so it would be longer: it starts lower.
		want := back.upper().Length()
		for range 8 {
			front.top += front.upper().Length() - want
		}
	}
	t.seams = [2]sideSeam{back, front}
	t.sideBack = back.upper().Move(geom.Shift(geom.Pt(t.waistBack, 0)))
	t.sideFront = front.upper().Move(geom.Shift(geom.Pt(t.waistFront, 0)))
}

// hair is a length too short to cut, mm.
const hair = 1.0

// sideToHem lengthens both side seams equally from the waist to the hem.
func (f *figure) sideToHem(t *trunk) {
	if f.endsAtWaist() {
		return
	}
	backSeam, seam := t.seams[back], t.seams[front]
	back := backSeam.lower()
	if hem, hip := f.hem, f.napeToWaist+f.hipDepth(); hem < hip {
		back = geom.Path{back[0].Part(0, crossY(back[0], hem))}
	} else {
		below := hem - hip
		if f.legs == nil {
			below = math.Max(0, below+f.overHip)
		}
		back = back.Part(0, back[0].Length()+below)
	}
	// A front that springs more would be longer: its hip lies higher. So it is
	// moved too where only a hair would run straight on below it.
	want := backSeam.lower()[0].Length()
	if over := seam.lower()[0].Length() - want; over > -hair {
		for range 30 {
			seam.hip -= over
			over = seam.lower()[0].Length() - want
		}
	}
	front := seam.lower().Part(0, back.Length())
	t.sideBack = geom.Join(t.sideBack, back.Move(geom.Shift(geom.Pt(t.waistBack, 0))))
	t.sideFront = geom.Join(t.sideFront, front.Move(geom.Shift(geom.Pt(t.waistFront, 0))))
}

// sideSeam is a side seam with the waist on x = 0.
type sideSeam struct {
	in, out         float64 // at underarm and hip, from the waist; either may be negative
	top, waist, hip float64 // levels
	lean, leanFrom  float64 // outwards below the level of the hip, as an angle
	flare, flareEnd float64 // by how much it starts farther in, and the level at which it is out again
}

// upperLean and waistLean return the seam's angles from straight down.
func (s sideSeam) upperLean() float64 { return -math.Atan(s.in/(s.waist-s.top)) / 2 }

// waistLean is upright if the seam turns at the waist, otherwise between its
// two parts.
func (s sideSeam) waistLean() float64 {
	d1, d2 := -math.Atan(s.in/(s.waist-s.top)), math.Atan(s.out/(s.hip-s.waist))
	if d1*d2 <= 0 {
		return 0
	}
	return 2 * d1 * d2 / (d1 + d2)
}

// upper returns the seam from underarm to waist, in two parts if it flares.
func (s sideSeam) upper() geom.Path {
	p0, p3 := geom.Pt(s.in, s.top), geom.Pt(0, s.waist)
	h := p0.Dist(p3) / 3
	plain := geom.Cubic(p0, p0.Add(down(s.upperLean()).Mul(h)), p3.Sub(down(s.waistLean()).Mul(h)), p3)
	if s.flare <= 0 {
		return geom.Path{plain}
	}
	_, rest := plain.Split(crossY(plain, s.flareEnd))
	p0 = p0.Sub(geom.Pt(s.flare, 0))
	h = p0.Dist(rest.P0) / 3
	first := geom.Cubic(p0, p0.Lerp(rest.P0, 1.0/3), rest.P0.Sub(rest.Tangent(0).Mul(h)), rest.P0)
	return geom.Path{first, rest}
}

// lower returns the seam from waist to hip, and on beyond every hem.
func (s sideSeam) lower() geom.Path {
	p0, p3 := geom.Pt(0, s.waist), geom.Pt(s.out, s.hip)
	l := p0.Dist(p3)
	seam := geom.Path{geom.Cubic(p0, p0.Add(down(s.waistLean()).Mul(l/3)), p3.Sub(down(0).Mul(0.38*l)), p3)}
	// The girth holds at the level of the hip, a little below which the seam may turn.
	if s.lean != 0 && s.leanFrom-s.hip > leanWithin {
		seam = append(seam, geom.Line(p3, geom.Pt(s.out, s.leanFrom)))
	}
	if s.lean != 0 {
		turn := seam.End()
		corner := turn.Add(down(0).Mul(leanOver / 2))
		end := corner.Add(down(s.lean).Mul(leanOver / 2))
		seam = append(seam, geom.Cubic(turn, turn.Lerp(corner, 2.0/3), end.Lerp(corner, 2.0/3), end))
	}
	return append(seam, geom.Line(seam.End(), seam.End().Add(down(s.lean).Mul(3000))))
}

// Of a side seam that leans below the hip: the length over which it turns, and how far above
// the hip's level it may begin to, mm.
const (
	leanOver   = 120.0
	leanWithin = 25.0
)

// backWidthOf returns the back's share of a half width at the underarm, mm. The
// back goes by the frame and not by the cup: it gets as much of a frame's width as
// common practice gives a standard figure's, and the front takes the bust.
func (f *figure) backWidthOf(half float64) float64 {
	framed := half - f.cup
	gap := framed - f.halfBack - f.halfChest
	width := clamp(f.halfBack+backOfArmhole*gap, 0.45*framed, 0.54*framed)
	return math.Min(math.Max(width, f.halfBack+30), half-f.halfChest-20)
}

const (
	// backOfArmhole is the back's share of the armhole's width.
	backOfArmhole = 0.47
	// armholeOfArm is the width of an armhole over the girth of the arm (common
	// practice; 0.48 with a spread of 0.13 on the bodies with a surface in
	// package surveytest). A draft has 10 mm more at the regular fit.
	armholeOfArm = 0.45
	// steepest is the tangent of the side seam's largest flare from the underarm,
	// at the back, and with the opened bust dart at the front, in radians.
	steepestBack, steepestFront = 9 * degree, 24 * degree
)

// flareSides lets the side seams start farther in and flare out to the bust if
// the armhole would otherwise be wider than the arm requires: the rest is body,
// not room for the arm, and a full bust must not enlarge the armhole. Without a
// sleeve they are taken in at the underarm besides. The bust dart lies at the end of
// the flare, so that the sewn seam does not show it. (Common practice in adjusting for
// a full bust; the limits are ours.)
func (f *figure) flareSides(u *upper, t *trunk, back, front *sideSeam) {
	taken := f.underarmTaken(t)
	if u.lift <= 0 && taken == 0 {
		return
	}
	end := f.dartLevel(u, t)
	drop := end - t.depth
	wide := armholeOfArm*f.body.Value(body.UpperArmGirth) + 10 + (f.ease[string(body.BustGirth)]-70)/4
	opened := math.Atan2(u.lift, t.underarmFront-u.bustPoint.X)
	flare := func(excess, steepest float64) float64 {
		if u.lift <= 0 { // no bust
			excess = 0
		}
		return fadeIn(clamp(math.Max(excess, 0)+taken, 0, math.Tan(steepest)*drop), 0, 12)
	}
	back.flare = flare(t.underarmBack-f.halfBack-backOfArmhole*wide, steepestBack)
	front.flare = flare(t.underarmFront-f.halfChest-(1-backOfArmhole)*wide,
		math.Max(steepestFront-opened, steepestBack))
	back.flareEnd, front.flareEnd = end, end
}

// dartIntake returns how much back and front waist darts take out of half the
// waist, mm, given how much narrower it is than the underarm (taken) and than
// the hip (spring). It grows smoothly from nothing with the suppression, to 0.6
// of what exceeds 32 mm and 20 more. A wide hip over a straight waist needs
// darts as well, so that no side springs out by more than 45 mm.
func (f *figure) dartIntake(taken, spring float64) float64 {
	if !f.shaped || !f.darted() {
		return 0
	}
	const none, full = 8.0, 64.0
	var darts float64
	switch {
	case taken >= full:
		darts = 0.6*(taken-32) + 20
	case taken > none:
		// The cubic that leaves zero level and meets the line smoothly.
		t, h := (taken-none)/(full-none), full-none
		end := 0.6*(full-32) + 20
		darts = end*t*t*(3-2*t) + 0.6*h*t*t*(t-1)
	}
	if spring-darts > 90 {
		darts = math.Max(darts, math.Min(spring-90, math.Max(taken, 10)+10))
	}
	return darts
}

// darted reports whether waist darts are drawn: not for a total under 6 mm,
// which nobody can sew. It depends on the girths alone, so that the widths
// solved from it do not jump.
func (f *figure) darted() bool {
	return f.bust-f.waist >= 20 || f.hip-f.waist >= 96
}

// frontDartTop returns the highest level of a front waist dart: short of the
// bust point and below the underarm.
func (f *figure) frontDartTop(bustLine, depth float64) float64 {
	return math.Max(bustLine+f.standOff(), depth+10)
}

// dartEnd returns the level at which a waist dart ends below the waist: a share
// of the hip's depth, within a limit and clear of the hem.
func (f *figure) dartEnd(share, most float64) float64 {
	below := math.Min(share*f.hipDepth(), most)
	if !f.endsAtWaist() {
		below = math.Min(below, f.hem-f.napeToWaist-20)
	}
	return f.napeToWaist + below
}
