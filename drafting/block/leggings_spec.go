package block

import (
	"math"

	"tapeline/drafting/body"
)

// Names of the leggings' choices.
const (
	lengthCalf  = "calf"
	lengthKnee  = "knee"
	lengthShort = "short"

	easeAnkle = string(body.AnkleGirth)
)

// leggingsSpec describes leggings for a knit that stretches both ways: a leg of
// one piece with a seam inside, for women's and men's measurements.
func leggingsSpec() Spec {
	return Spec{
		Name: "knit_leg", Title: "Knit leg block",
		Requires: []body.Name{body.WaistGirth, body.HipGirth, body.WaistToHip, body.BodyRise, body.InsideLeg},
		Uses: []body.Name{
			body.HighHipGirth, body.TotalCrotchLength, body.WaistToKnee, body.WaistToFloor,
			body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth, body.FootGirth,
		},
		Choices: append(stretchChoices(20, 150, "leg"),
			Choice{Name: choiceLength, Kind: KindLength, Default: Value{Word: "ankle"},
				Options: []string{"ankle", lengthCalf, lengthKnee, lengthShort}, Min: 100, Max: 1100,
				Help:   "Where the leg ends, or its length from the crotch to the hem as worn, to at most the floor.",
				limits: leggingsLengths},
			lowerWaistChoice(leggingsWaists),
			Choice{Name: choiceGusset, Kind: KindYesNo, Default: YesNo(false), Options: []string{"no", "yes"},
				Help: "Set a diamond gusset into the crossing of the crotch seam and the inseams."},
		),
		Fits:        leggingsFits(),
		Alterations: leggingsAlterations(),
		Sided:       true,
	}
}

// leggingsFits returns the ease of the fits, which is added to the body before
// the tension of the fit reduces it. The fits differ in tension alone.
func leggingsFits() []Fit {
	return fitsOf(
		easeRow(string(body.WaistGirth), -100, 200, 0, 0, 0),
		easeRow(string(body.HipGirth), -100, 200, 0, 0, 0),
		easeRow(string(body.BodyRise), -40, 60, 0, 0, 0),
		easeRow(string(body.TotalCrotchLength), -60, 80, 0, 0, 0),
		easeRow(easeThigh, -60, 150, 0, 0, 0),
		easeRow(easeKnee, -40, 120, 0, 0, 0),
		easeRow(easeCalf, -40, 120, 0, 0, 0),
		easeRow(easeAnkle, -30, 120, 0, 0, 0),
	)
}

// leggingsAlterations returns the alterations of leggings: those of trousers
// that a leg without a side seam can take.
func leggingsAlterations() []Alteration {
	return []Alteration{
		{alterSeat, -30, maxCentreChange, false,
			"Lengthen the crotch seam over the seat, or shorten it for a flat seat (negative)."},
		{alterSwayBack, 0, 30, false, "Shorten the centre back at the waist, fading to nothing at the side."},
		{alterRise, -30, 40, false, "Lower the crotch, or raise it (negative)."},
		{alterLegLength, -40, 40, false, "Make the leg longer, or shorter (negative)."},
	}
}

// leggingsWaists returns the limits of how far below the natural waist leggings
// begin: the crotch needs its depth.
func leggingsWaists(r Request) (lo, hi float64) {
	lo, hi = skirtWaists(r)
	s, err := newLeggings(r.without(choiceWaist, choiceLength))
	if err != nil {
		return lo, hi
	}
	return lo, math.Min(hi, math.Floor((s.depth-minCrotchDepth)/s.along))
}

// leggingsLengths returns the limits of a leg's length from the crotch as worn,
// before it is lengthened or shortened.
func leggingsLengths(r Request) (lo, hi float64) {
	s, err := newLeggings(r.without(choiceLength))
	if err != nil {
		return 0, math.Inf(1)
	}
	return 0, math.Floor(s.floorBelow)
}
