package block

import (
	"math"

	"tapeline/drafting/body"
)

// Names of the choices that a knit brings, and their usual values, per cent.
const (
	choiceStretch    = "stretch"
	choiceLengthwise = "lengthwise_stretch"
	choiceTension    = "tension"
	choiceGusset     = "gusset"

	usualStretch    = 60.0
	usualLengthwise = 40.0
)

// tensions are the shares of the crosswise stretch that are taken up when the
// cloth is worn (common practice, from memory: a fifth skims, about a third is
// close, and no garment is comfortable at more than a half).
var tensions = map[string]float64{"light": 0.2, "firm": 0.3, "compressive": 0.4}

// tensionOfFit is the tension of each fit.
var tensionOfFit = map[string]string{"loose": "light", "regular": "firm", "close": "compressive"}

// lengthTension is the share of the lengthwise stretch that is taken up in every
// fit (from memory): more pulls the waist down when the wearer bends.
const lengthTension = 0.1

// cloth says how much cloth at rest is shorter than on the body.
type cloth struct {
	stretch       float64 // share by which it stretches around the body; 0 of woven cloth
	lengthwise    float64 // and along it
	around, along float64 // lengths at rest, as shares of those worn
}

// woven is cloth that lies on the body as it lies on the table.
var woven = cloth{around: 1, along: 1}

// knitOf returns the knit that a request chooses, at the tension of its fit
// unless it chooses another.
func knitOf(r Request) cloth {
	tension := r.word(choiceTension, asFitSays)
	if tension == asFitSays {
		tension = tensionOfFit[r.Fit]
	}
	c := cloth{stretch: r.number(choiceStretch, usualStretch) / 100,
		lengthwise: r.number(choiceLengthwise, usualLengthwise) / 100}
	c.around = 1 / (1 + tensions[tension]*c.stretch)
	c.along = 1 / (1 + lengthTension*c.lengthwise)
	return c
}

// share returns a length at rest as a share of the measurement of a torso worn.
// A neckline runs as much across the cloth as along it.
func (c cloth) share(n body.Name) float64 {
	switch n {
	case body.BustGirth, body.WaistGirth, body.HipGirth, body.BackWidth, body.ChestWidth, body.BustPointWidth,
		body.UpperArmGirth, body.ElbowGirth, body.WristGirth, body.ThighGirth:
		return c.around
	case body.NeckBaseGirth:
		return (c.around + c.along) / 2
	case body.NapeToWaist, body.FrontWaistLength, body.SideNeckToBust, body.ScyeDepth, body.WaistToHip,
		body.WaistToThigh, body.WaistToKnee, body.ArmLength, body.ShoulderToElbow, body.BodyRise, body.TotalCrotchLength:
		return c.along
	}
	return 1
}

// shoulderAtRest returns the length and the slope at rest of a shoulder worn.
func (c cloth) shoulderAtRest(length, slope float64) (float64, float64) {
	across, fall := c.around*length*math.Cos(slope), c.along*length*math.Sin(slope)
	return math.Hypot(across, fall), math.Atan2(fall, across)
}

// atRest returns ease or alterations of a torso as they lie on the cloth.
func (c cloth) atRest(worn map[string]float64) map[string]float64 {
	if c == woven {
		return worn
	}
	out := make(map[string]float64, len(worn))
	for name, mm := range worn {
		switch name {
		case alterUpperArm:
			mm *= c.around
		case alterSwayBack, alterRoundBack, alterShoulder, alterForward, alterSeat, alterRise:
			mm *= c.along
		default:
			mm *= c.share(body.Name(name))
		}
		out[name] = mm
	}
	return out
}

// stretchChoices are the choices of a knit that stretches around the body by lo to hi
// per cent, and along a part of it.
func stretchChoices(lo, hi float64, along string) []Choice {
	return []Choice{
		{Name: choiceStretch, Kind: KindFraction, Default: Value{Number: usualStretch}, Min: lo, Max: hi,
			Help: "How far the cloth stretches around the body, per cent of its length at rest."},
		{Name: choiceLengthwise, Kind: KindFraction, Default: Value{Number: usualLengthwise}, Min: 5, Max: 150,
			Help: "How far it stretches along the " + along + ", per cent; lengths are drafted shorter by a tenth of it."},
		optionChoice(choiceTension, "Share of the stretch around the body that is taken up when worn: light 0.2, firm 0.3, "+
			"compressive 0.4; as_fit: light when loose, firm when regular, compressive when close.",
			asFitSays, "light", "firm", "compressive"),
	}
}
