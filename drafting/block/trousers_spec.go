package block

import (
	"tapeline/drafting/body"
)

// Names of the trousers' choices, ease and alterations.
const (
	choiceHem   = "hem"
	choiceFront = "front"

	hemStraight = "straight"
	hemTapered  = "tapered"
	hemWide     = "wide"
	frontDarts  = "darts"
	frontPleats = "pleats"

	easeKnee  = string(body.KneeGirth)
	easeThigh = string(body.ThighGirth)
	easeCalf  = string(body.CalfGirth)
	easeFoot  = string(body.FootGirth)

	alterThigh     = "full_thigh"
	alterRise      = "crotch_depth"
	alterLegLength = "leg_length"
)

var trouserLengthChoice = Choice{
	Name: choiceLength, Kind: KindLength, Default: Value{Word: "full"},
	Options: []string{"full", "ankle", "knee"}, Min: 60, Max: 1100,
	Help:   "Where the leg ends, or its length from the crotch to the hem, to at most 60 mm below the floor.",
	limits: trouserLengths,
}

var trouserHemChoice = Choice{
	Name: choiceHem, Kind: KindLength, Default: Value{Word: hemStraight},
	Options: []string{hemStraight, hemTapered, hemWide}, Min: 240, Max: 700,
	Help: "The shape of the leg, or how wide it is round the hem; a leg that ends above the calf is cut off from one " +
		"so wide at the calf.",
}

// trousersSpec describes trousers with a seam at the side and one inside the
// leg, for women's and men's measurements.
func trousersSpec() Spec {
	return Spec{
		Name: "trousers", Title: "Trousers block",
		Requires: []body.Name{body.WaistGirth, body.HipGirth, body.WaistToHip, body.BodyRise, body.InsideLeg},
		Uses: []body.Name{
			body.HighHipGirth, body.TotalCrotchLength, body.WaistToKnee, body.WaistToFloor,
			body.ThighGirth, body.KneeGirth, body.CalfGirth, body.FootGirth,
		},
		Choices: []Choice{
			trouserLengthChoice,
			trouserHemChoice,
			lowerWaistChoice(trouserWaists),
			optionChoice(choiceFront, "Shape the front's waist by darts, or by pleats, which make the front wider.", frontDarts,
				frontPleats),
		},
		Fits:        trousersFits(),
		Alterations: trousersAlterations(),
		Sided:       true,
	}
}

// trousersFits returns the ease of the fits, common practice for woven cloth.
// Close is the handbook's (see trousers), with 40 mm at the hip and a waist
// that is eased into the band by 10. The ease of the rise is added to the
// measure taken on a chair, which has about 20 mm of its own; that of thigh,
// knee, calf and foot is the least ease of the leg.
func trousersFits() []Fit {
	return fitsOf(
		easeRow(string(body.WaistGirth), 0, 300, 10, 20, 30),
		easeRow(string(body.HipGirth), 0, 400, 40, 60, 100),
		easeRow(string(body.BodyRise), -20, 80, 0, 5, 15),
		easeRow(string(body.TotalCrotchLength), -30, 120, 0, 10, 30),
		easeRow(easeThigh, 10, 300, 30, 50, 80),
		easeRow(easeKnee, 10, 300, 40, 60, 90),
		easeRow(easeCalf, 10, 300, 25, 40, 60),
		easeRow(easeFoot, 0, 200, 10, 10, 20),
	)
}

// trousersAlterations returns the alterations of trousers. Their effects are
// common practice among fitters; the shares are ours.
func trousersAlterations() []Alteration {
	return []Alteration{
		{alterSeat, -30, maxCentreChange, false,
			"Lengthen the crotch seam over the seat and give the back more of the hip, or less for a flat seat (negative)."},
		{alterSwayBack, 0, 30, false, "Shorten the centre back at the waist, fading to nothing at the side."},
		{alterRise, -30, 40, false, "Lower the crotch, or raise it (negative)."},
		{alterThigh, 0, 80, false, "Widen the legs at the top, inside, front and back alike."},
		{alterLegLength, -40, 40, true, "Make the leg longer, or shorter (negative)."},
	}
}
