package block

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// Names of the knit torso's choices and of their values.
const (
	choiceCrotch     = "crotch"
	choiceLegOpening = "leg_opening"

	lengthCrotch = "crotch"

	crotchGusset = "gusset"
	crotchSeam   = "seam"
	crotchOpens  = "opens"

	legLow     = "low"
	legRegular = "regular"
	legHigh    = "high"
)

// leastLegOverCrotch is the least height of a leg opening's side over the body's rise,
// as a share of it.
const leastLegOverCrotch = 0.12

// knitTorsoSpec describes a torso without darts for a knit, as it lies on cloth at
// rest: tops, and bodies that end at the crotch.
func knitTorsoSpec() Spec {
	crotch := []body.Name{body.BodyRise, body.TotalCrotchLength, body.ThighGirth}
	top := Spared{Unused: crotch}
	return Spec{
		Name: "knit_torso", Title: "Knit torso block",
		Requires: slices.Concat(torsoNeeds, crotch[:1]),
		Uses: slices.Concat(Without(torsoUses, []body.Name{body.BustPointWidth, body.SideNeckToBust}), crotch[1:],
			[]body.Name{body.HighHipGirth}),
		Choices: append(stretchChoices(10, 100, "body"),
			withSpares(Choice{Name: choiceLength, Kind: KindLength, Default: Value{Word: "hip"},
				Options: []string{"waist", "hip", "thigh", lengthCrotch}, Min: 300, Max: 1200,
				Help: "Where the block ends: a top at a line of the body, or at a length at the centre back from the nape, at " +
					"least 60 mm longer than to the waist; or a body, whose legs are cut out, at the crotch.",
				limits: knitTorsoLengths}, map[string]Spared{"waist": top, "hip": top, "thigh": top, "": top}),
			optionChoice(choiceCrotch, "How a body ends between the legs: in a gusset set in between front and back, in a "+
				"seam, or in two ends that lap by 20 mm and open.", crotchGusset, crotchSeam, crotchOpens),
			Choice{Name: choiceLegOpening, Kind: KindLength, Default: Value{Word: legRegular},
				Options: []string{legLow, legRegular, legHigh}, Min: 60, Max: 350,
				Help: "How far below the waist the leg openings of a body begin at the side: 0.8, 0.64 or 0.46 of the body rise, " +
					"or a length.",
				limits: legOpenings},
			optionChoice(choiceSuppression, "How much the side seam is shaped in to the waist.", "full", "half", "none"),
			optionChoice(choiceCentreFront, "Cut the front on the fold, or in two with a seam.", fold, seam),
			centreBackChoice, sleeveChoice, armholeChoice,
		),
		Fits: knitTorsoFits(), Alterations: knitTorsoAlterations(),
		Sided: true,
	}
}

// knitTorsoFits returns the ease of the fits, which is added to the body before the
// tension of the fit reduces it. The fits differ in tension, and in the depth of the
// armhole.
func knitTorsoFits() []Fit {
	return fitsOf(
		easeRow(string(body.NeckBaseGirth), -40, 60, 0, 0, 5),
		easeRow(string(body.BustGirth), -100, 300, 0, 0, 0),
		easeRow(string(body.WaistGirth), -100, 300, 0, 0, 0),
		easeRow(string(body.HipGirth), -100, 300, 0, 0, 0),
		easeRow(string(body.BackWidth), -30, 60, 0, 0, 0),
		easeRow(string(body.ChestWidth), -30, 60, 0, 0, 0),
		easeRow(easeScyeDepth, -20, 60, 2, 5, 10),
		easeRow(string(body.UpperArmGirth), -40, 150, 0, 0, 0),
		easeRow(string(body.ElbowGirth), -40, 150, 0, 0, 0),
		easeRow(string(body.WristGirth), -30, 150, 0, 0, 0),
		easeRow(string(body.TotalCrotchLength), -60, 80, 0, 0, 0),
		easeRow(easeCap, 0, 20, 0, 0, 0),
		easeRow(easeShoulder, 0, 8, 0, 0, 0),
	)
}

// knitTorsoAlterations returns the alterations of the torso that a block without
// darts can take, and those of a crotch.
func knitTorsoAlterations() []Alteration {
	return []Alteration{
		{alterSwayBack, 0, maxCentreChange, false, "Shorten the centre back at the waist, fading to nothing at the side."},
		{alterRoundBack, 0, maxCentreChange, false, "Lengthen the back above the armholes."},
		{alterShoulder, -30, 30, true, "Raise the shoulder point (square shoulder), or lower it (sloping, negative)."},
		{alterForward, 0, 25, true, "Bring the shoulder seam forward at the shoulder point."},
		{alterUpperArm, 0, 80, true, "Widen the sleeve at the upper arm, and half as much at the elbow."},
		{alterSeat, 0, maxCentreChange, false,
			"Lengthen the centre back over the seat, to the hem or the crotch, and give the back more of the hip."},
		{alterRise, -30, 40, false, "Lower the crotch of a body, or raise it (negative)."},
	}
}

// knitTorsoLengths returns the limits of a top's length from the nape, as worn.
func knitTorsoLengths(r Request) (lo, hi float64) {
	waist := r.Body.Value(body.NapeToWaist) + math.Max(0, r.Alterations[alterRoundBack])
	return math.Ceil(waist + leastBelowWaist/knitOf(r).along), math.Inf(1)
}

// legOpenings returns the limits of how far below the waist a leg opening begins at the
// side, as worn.
func legOpenings(r Request) (lo, hi float64) {
	rise := r.Body.Value(body.BodyRise)
	if rise == 0 {
		return 0, math.Inf(1)
	}
	return math.Ceil(leastBelowWaist / knitOf(r).along), math.Floor((1 - leastLegOverCrotch) * rise)
}
