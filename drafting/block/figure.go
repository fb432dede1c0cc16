package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
)

// figure holds what a torso is drafted to: the body's measures, the ease over
// them and the choices, in mm and radians. Widths and girths called half are
// half the body's girth with its ease, as they lie on one back and one front.
type figure struct {
	body body.Body
	ease map[string]float64 // on cloth at rest, as all that follows
	cloth

	shaped  bool    // with waist darts, and always with a bust dart
	jacket  *jacket // how it is cut as a jacket; nil for a torso
	garment bool    // a garment is built on it, which trues the darts where it has moved them to

	halfBack, halfChest        float64 // across back and front, half
	bust, waist, hip           float64 // half girths with ease
	trued                      float64 // width that truing the side takes off at the bust
	neck                       float64 // half neckline with ease
	shoulder                   float64 // front shoulder seam
	shoulderEase, shoulderDart float64
	shoulderDarted             bool    // has a shoulder dart, even if it is empty
	napeToWaist, scyeDepth     float64 // scye depth with its ease
	slope                      float64
	bustPointX                 float64 // from the centre front
	cup                        float64 // half the bust girth over that of the frame with a standard cup
	frontWaist, sideNeckToBust float64
	waistToHip                 float64
	hem                        float64 // level of the hem at the centre back, from the nape
	biceps, elbow, wrist       float64 // sleeve girths with ease
	armLength, shoulderToElbow float64
	capEase                    float64
	altered                    map[string]float64 // alterations, mm
	forward                    float64            // turn of the shoulder seam forward
	mate                       *figure            // the other side of a body whose sides differ; otherwise nil

	bellyShare float64 // moved from each back to the front at the waist, half
	bellyRise  float64 // of a straight front's neck point
	frontDrop  float64 // added to the centre front at the hem for the length over a bust without a dart
	frontHangs float64 // added there so that the hem hangs level
	lean       float64 // of both side seams towards the front below the hip, as an angle
	seat       float64 // length that the seat takes up at the centre back, waist to hip
	overHip    float64 // length that both side seams have more, from the hip to the hem

	legs *legCut // of a body, which ends at the crotch; otherwise nil

	bustDart            string
	bustSurplus         float64 // most that the dart takes up of the front's surplus length
	bustDartAt          float64
	frontFold, backFold bool
	sleeve, elbowShape  string
	sleeveless          bool // the armhole is finished without a sleeve
	warnings            []string
}

// value returns a measure of the body as it lies on cloth at rest, mm (degrees for
// the shoulder slope).
func (f *figure) value(n body.Name) float64 {
	v := f.body.Value(n)
	if f.cloth == woven {
		return v
	}
	length, slope := f.shoulderAtRest(f.body.Value(body.ShoulderLength), f.body.Value(body.ShoulderSlope)*degree)
	switch n {
	case body.ShoulderLength:
		return length
	case body.ShoulderSlope:
		return slope / degree
	}
	return f.share(n) * v
}

// withEase returns a measure of the body with its ease, mm.
func (f *figure) withEase(n body.Name) float64 { return f.value(n) + f.ease[string(n)] }

// neckRise returns by how much the back neck point lies over the nape, mm.
func (f *figure) neckRise() float64 { return f.along * f.body.NeckRise() }

func (f *figure) warn(format string, args ...any) {
	f.warnings = append(f.warnings, fmt.Sprintf(format, args...))
}

// newFigure computes a torso's measures from a request, or refuses it.
func newFigure(r Request, kind torsoKind) (*figure, error) {
	b, shaped := r.Body, kind == shapedTorso
	ease, err := easeOf(r, kind.fits())
	if err != nil {
		return nil, err
	}
	f := &figure{body: b, cloth: woven, shaped: shaped, garment: r.Garment, sleeve: r.word(choiceSleeve, "full")}
	f.sleeveless = f.sleeve == none && r.word(choiceArmhole, asSleeveSays) == asSleeveSays
	if f.sleeveless {
		withoutSleeve(ease)
	}
	if kind == knitTorso {
		f.cloth = knitOf(r)
	}
	f.ease = f.atRest(ease)
	ease = f.ease
	f.halfBack = f.withEase(body.BackWidth) / 2
	f.halfChest = f.withEase(body.ChestWidth) / 2
	f.bust = f.withEase(body.BustGirth) / 2
	f.waist = f.withEase(body.WaistGirth) / 2
	f.hip = f.withEase(body.HipGirth) / 2
	f.neck = f.withEase(body.NeckBaseGirth) / 2
	f.shoulder = f.value(body.ShoulderLength) + ease[easeShoulderLength]
	if f.sleeveless {
		f.shoulder -= sleevelessShoulder
	}
	f.shoulderEase, f.shoulderDart = ease[easeShoulder], ease[easeShoulderDart]
	f.napeToWaist = f.value(body.NapeToWaist)
	f.scyeDepth = f.withEase(body.ScyeDepth)
	f.slope = f.value(body.ShoulderSlope) * degree
	f.bustPointX = f.value(body.BustPointWidth) / 2
	if shaped {
		f.cup = (b.Value(body.BustGirth) - b.FrameGirth()) / 2
	}
	f.frontWaist = f.value(body.FrontWaistLength)
	f.sideNeckToBust = f.value(body.SideNeckToBust)
	f.waistToHip = f.value(body.WaistToHip)
	f.biceps, f.elbow, f.wrist = f.withEase(body.UpperArmGirth), f.withEase(body.ElbowGirth), f.withEase(body.WristGirth)
	f.armLength = f.value(body.ArmLength) - ease[easeShoulderLength]
	f.shoulderToElbow = f.value(body.ShoulderToElbow) - ease[easeShoulderLength]
	f.capEase = ease[easeCap]

	if err := f.choose(r, kind); err != nil {
		return nil, err
	}
	f.alter(f.atRest(r.Alterations))
	f.shapeShoulder(r.word(choiceBackShoulder, ""))
	suppression := "full"
	if kind == straightTorso {
		suppression = "none"
	}
	f.suppress(r.word(choiceSuppression, suppression))
	f.carryBelly()
	f.levelHem(kind)
	if err := f.setEnd(r, kind); err != nil {
		return nil, err
	}
	f.swingSides()
	return f, f.refuseImpossible()
}

// choose sets the choices that shape the pieces.
func (f *figure) choose(r Request, kind torsoKind) error {
	f.elbowShape = r.word(choiceElbow, asFitSays)
	if kind == knitTorso {
		f.elbowShape = none
	} else if f.elbowShape == asFitSays {
		f.elbowShape = map[string]string{"close": "dart", "regular": "ease", "loose": "none"}[r.Fit]
	}
	f.backFold = r.word(choiceCentreBack, fold) == fold
	f.bustDart, f.bustSurplus = r.word(choiceBustDart, none), math.Inf(1)
	if f.shaped {
		f.bustDart = r.word(choiceBustDart, "side")
	}
	if v, ok := r.Choices[choiceBustSurplus]; ok && v.Word == "" {
		f.bustSurplus = v.Number
	}
	f.bustDartAt = 0.5
	if v, ok := r.Choices[choiceBustDartAt]; ok {
		f.bustDartAt = v.Number
	}
	switch cf := r.word(choiceCentreFront, asFitSays); {
	case cf == fold && f.shaped && f.bustDart == "centre_front":
		return refuseChoice(choiceCentreFront, fold,
			"a bust dart at the centre front needs a centre front seam: seam or as_fit")
	default:
		f.frontFold = cf == fold || cf == asFitSays && !(f.shaped && f.bustDart == "centre_front")
	}
	return nil
}

// hasBust reports whether the front is shaped over the bust by a dart.
func (f *figure) hasBust() bool { return f.bustDart != none }

// leastSewn is the smallest intake of a dart in mm: less is eased in, because
// nobody can sew it (common practice: 6 to 10).
const leastSewn = 7.0

// shapeShoulder divides the shaping of the back shoulder between dart and ease,
// and alters it for a round back. how is dart or ease; "" is that of the block.
// A round back puts part of its length into the dart.
func (f *figure) shapeShoulder(how string) {
	f.shoulderDarted = how == "dart" || how == "" && f.shaped
	switch {
	case f.shoulderDart == 0:
	case !f.shoulderDarted:
		// Without the dart more is eased: 6 to 10 mm is common practice.
		f.shoulderDart, f.shoulderEase = 0, f.shoulderEase+5
	default:
		f.shoulderDart += roundToDartIntake * f.altered[alterRoundBack]
		if f.shoulderDart < leastSewn {
			f.shoulderDart, f.shoulderEase = 0, f.shoulderEase+f.shoulderDart
		}
	}
}

// easeOf returns the fit's table of ease with the order's own values in place
// of its own, mm.
func easeOf(r Request, fits []Fit) (map[string]float64, error) {
	for _, fit := range fits {
		if fit.Name != r.Fit {
			continue
		}
		ease := make(map[string]float64, len(fit.Ease))
		for _, e := range fit.Ease {
			ease[e.Name] = e.Value
			if v, ok := r.Ease[e.Name]; ok {
				ease[e.Name] = v
			}
		}
		return ease, nil
	}
	return nil, fmt.Errorf("unknown fit %q", r.Fit)
}

// suppress raises the waist's ease if less than the full shaping is taken: half
// of it, or all, so that the sides run straight from bust to hip.
func (f *figure) suppress(how string) {
	open := math.Max(0, math.Min(f.bust, f.hip)-f.waist)
	switch how {
	case "half":
		f.waist += open / 2
	case "none":
		f.waist += open
	}
}

// carryBelly moves girth from the back to the front as the waist nears and
// passes the bust, and lengthens a front without a dart, as a fitter does (common
// practice; the rates are ours, tuned by eye on the survey's bodies).
func (f *figure) carryBelly() {
	belly := f.value(body.WaistGirth) - f.value(body.BustGirth) + 40
	f.bellyShare = clamp(0.10*belly, 0, 30)
	f.bellyRise = clamp(0.10*belly, 0, maxArmholeSurplus)
}

// setEnd sets where the torso ends: at a hem or at the crotch.
func (f *figure) setEnd(r Request, kind torsoKind) error {
	if kind != knitTorso {
		return f.setHem(r.Choices[choiceLength])
	}
	err := f.cutLegs(r)
	if err == nil && f.legs == nil {
		err = f.setHem(r.Choices[choiceLength])
	}
	f.widenToPass()
	return err
}

// setHem sets the level of the hem from the choice of length: a word, or a
// length at the centre back.
func (f *figure) setHem(length Value) error {
	waist, hip := f.napeToWaist, f.napeToWaist+f.hipDepth()
	switch length.Word {
	case "waist":
		f.hem = waist
	case "", "hip":
		f.hem = hip
		if length.Word == "" && length.Number > 0 {
			f.hem = f.along * length.Number
		}
	case "thigh":
		f.hem = waist + math.Max(f.value(body.WaistToThigh), f.hipDepth()+40)
	case "knee":
		f.hem = waist + math.Max(f.value(body.WaistToKnee), f.hipDepth()+80)
	}
	if d := f.hem - waist; math.Abs(d) < 1 {
		f.hem = waist
	} else if d < leastBelowWaist {
		return refuseChoice(choiceLength, fmt.Sprintf("%.0f mm from the nape", f.hem),
			fmt.Sprintf("the block ends at the waist (%.0f mm from the nape on this body) or at least %d mm below it", waist,
				leastBelowWaist))
	}
	if length.Word == "" && length.Number > 0 && !f.endsAtWaist() {
		// The seat is part of a length at the centre back.
		f.hem -= f.seat * clamp((f.hem-waist)/(f.hipDepth()+f.seat), 0, 1)
	}
	if short := hip - f.hem - f.frontHangs - f.panelDrop(); f.hem >= hip && short > 0 {
		f.hem += short // or the hip line would leave the front
	}
	return nil
}

// hipDepth returns the depth of the hip line below the waist, mm: as measured,
// but at least minHipDepth.
func (f *figure) hipDepth() float64 { return math.Max(f.waistToHip, minHipDepth) }

// endsAtWaist reports whether the block ends at the waist and has no hip.
func (f *figure) endsAtWaist() bool { return f.hem == f.napeToWaist }

func (f *figure) refuseImpossible() error {
	if left := f.napeToWaist - f.scyeDepth; left < 60 {
		return refuse(fmt.Sprintf("the armhole depth with its ease of %.0f mm leaves %.0f mm to the waist; at least 60 "+
			"mm are required", f.scyeDepth, left),
			body.ScyeDepth, body.NapeToWaist)
	}
	if f.waistToHip < minHipDepth && !f.endsAtWaist() {
		f.warn("The hip line is drawn %d mm below the waist; it was measured %.0f mm below.", minHipDepth, f.waistToHip)
	}
	return nil
}
