package block

import (
	"tapeline/drafting/body"
)

// The names of the torso's choices and of their values.
const (
	choiceLength       = "length"
	choiceSuppression  = "suppression"
	choiceBustDart     = "bust_dart"
	choiceBustDartAt   = "bust_dart_at"
	choiceBustSurplus  = "bust_surplus"
	choiceCentreFront  = "centre_front"
	choiceCentreBack   = "centre_back"
	choiceBackShoulder = "back_shoulder"
	choiceSleeve       = "sleeve"
	choiceArmhole      = "armhole"
	choiceElbow        = "elbow"

	fold         = "fold"
	seam         = "seam"
	asFitSays    = "as_fit"
	none         = "none"
	asBody       = "as_body"
	asSleeveSays = "as_sleeve"
	elbowUpright = "upright"
)

// Names of ease beside those of measurements.
const (
	easeScyeDepth    = "scye_depth"
	easeCap          = "sleeve_cap"
	easeShoulder     = "back_shoulder"
	easeShoulderDart = "back_shoulder_dart"
)

var lengthChoice = Choice{
	Name: choiceLength, Kind: KindLength, Default: Value{Word: "hip"},
	Options: []string{"waist", "hip", "thigh", "knee"}, Min: 300, Max: 1600,
	Help: "Where the block ends, or the length at the centre back from the nape, " +
		"at least 60 mm longer than to the waist.",
	limits: torsoLengths,
}

func optionChoice(name, help string, options ...string) Choice {
	return Choice{Name: name, Kind: KindOption, Default: Value{Word: options[0]}, Options: options, Help: help}
}

// withSpares returns the choice with what its words spare.
func withSpares(c Choice, spares map[string]Spared) Choice {
	c.Spares = spares
	return c
}

var (
	centreBackChoice = optionChoice(choiceCentreBack, "Cut the back on the fold, or in two with a seam.", fold, seam)
	sleeveChoice     = withSpares(optionChoice(choiceSleeve, "How long the sleeve is.", "full", "three_quarter", "elbow",
		"short", none), map[string]Spared{
		"elbow": {Estimated: []body.Name{body.WristGirth}},
		"short": {Estimated: []body.Name{body.WristGirth}},
		// The arm must pass the armhole.
		none: {Estimated: []body.Name{body.UpperArmGirth, body.WristGirth},
			Unused: []body.Name{body.ArmLength, body.ElbowGirth, body.ShoulderToElbow}},
	})
	armholeChoice = optionChoice(choiceArmhole,
		"Shape of an armhole without a sleeve; as_sleeve: higher and narrower, to be worn without one; for_sleeve: as for "+
			"a sleeve.",
		asSleeveSays, "for_sleeve")
	elbowChoice = optionChoice(choiceElbow,
		"How the back of a long sleeve is shaped at the elbow; as_fit: dart when close, ease when regular, none when loose; "+
			"upright: as wide at the elbow as at the upper arm, to be cut into top and under sleeve.",
		asFitSays, "dart", "ease", "none", elbowUpright)
)

var bustDartAtChoice = Choice{
	Name: choiceBustDartAt, Kind: KindFraction, Default: Value{Number: 0.5}, Min: 0.2, Max: 0.8,
	Help: "How far along the shoulder from the neck point a shoulder bust dart opens.",
}

// torsoNeeds are the measurements required to draft a torso.
var torsoNeeds = []body.Name{
	body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength,
	body.BackWidth, body.NapeToWaist, body.WaistToHip, body.UpperArmGirth, body.WristGirth, body.ArmLength,
}

var torsoUses = []body.Name{
	body.ChestWidth, body.BustPointWidth, body.SideNeckToBust, body.FrontWaistLength, body.ScyeDepth,
	body.ShoulderSlope, body.WaistToThigh, body.WaistToKnee, body.ElbowGirth, body.ShoulderToElbow,
}

func torsoSpec() Spec {
	return Spec{
		Name: "torso", Title: "Torso block",
		Requires: torsoNeeds, Uses: torsoUses,
		Choices: []Choice{
			lengthChoice,
			optionChoice(choiceSuppression, "How much of the waist shaping is taken.", "full", "half", "none"),
			optionChoice(choiceBustDart, "Where the bust dart opens.", "side", "shoulder", "armhole", "neck", "waist",
				"centre_front"),
			bustDartAtChoice,
			{Name: choiceCentreFront, Kind: KindOption, Default: Value{Word: asFitSays},
				Options: []string{asFitSays, fold, seam},
				Help: "Cut the front on the fold, or in two with a seam; as_fit: a fold, but a seam where the bust dart " +
					"opens there."},
			centreBackChoice,
			optionChoice(choiceBackShoulder, "Shape the back shoulder by a dart or by ease.", "dart", "ease"),
			sleeveChoice, armholeChoice, elbowChoice,
		},
		Excludes: []Exclusion{{choiceCentreFront, fold, choiceBustDart, choiceCentreFront}},
		Fits:     torsoFits(), Alterations: torsoAlterations(),
		Sided: true,
	}
}

// straightSpec describes the torso without waist darts, and without a bust dart
// unless one is chosen: for bodies and garments with little shaping.
func straightSpec() Spec {
	return Spec{
		Name: "straight", Title: "Straight torso block",
		Requires: torsoNeeds, Uses: torsoUses,
		Choices: []Choice{
			lengthChoice,
			{Name: choiceSuppression, Kind: KindOption, Default: Value{Word: "none"}, Options: []string{"none", "half", "full"},
				Help: "How much the side seam is shaped in to the waist; there are no waist darts."},
			optionChoice(choiceBustDart, "Where a bust dart opens; none: some of the front's extra length over the bust "+
				"goes into the armhole and the hem.", none, "side", "shoulder", "armhole", "neck"),
			bustDartAtChoice,
			{Name: choiceBustSurplus, Kind: KindLength, Default: Value{Word: asBody}, Options: []string{asBody}, Max: 150,
				Help: "How much of the front's extra length over the bust the dart takes up; as_body: all of it."},
			{Name: choiceCentreFront, Kind: KindOption, Default: Value{Word: fold}, Options: []string{fold, seam},
				Help: "Cut the front on the fold, or in two with a seam."},
			centreBackChoice,
			{Name: choiceBackShoulder, Kind: KindOption, Default: Value{Word: "ease"}, Options: []string{"ease", "dart"},
				Help: "Shape the back shoulder by a dart or by ease."},
			sleeveChoice, armholeChoice, elbowChoice,
		},
		Fits: torsoFits(), Alterations: torsoAlterations(),
		Sided: true,
	}
}

// torsoFits returns the ease of the fits. The girths are common practice for
// woven cloth (close 40-60 mm at the bust, regular 70-100, loose 120 and up). A
// fit is the brand's to set, so an order can override every value.
func torsoFits() []Fit {
	return fitsOf(
		easeRow(string(body.NeckBaseGirth), 0, 60, 0, 5, 12),
		easeRow(string(body.BustGirth), 0, 400, 40, 70, 120),
		easeRow(string(body.WaistGirth), 0, 500, 30, 50, 100),
		easeRow(string(body.HipGirth), 0, 500, 40, 60, 100),
		easeRow(string(body.BackWidth), 0, 80, 6, 14, 26),
		easeRow(string(body.ChestWidth), 0, 80, 4, 10, 20),
		easeRow(easeScyeDepth, 0, 80, 8, 14, 26),
		easeRow(string(body.UpperArmGirth), 25, 250, 35, 50, 80),
		easeRow(string(body.ElbowGirth), 15, 250, 25, 40, 65),
		easeRow(string(body.WristGirth), 15, 250, 40, 55, 80),
		easeRow(easeCap, 0, 40, 22, 22, 12),
		easeRow(easeShoulder, 0, 12, 3, 3, 6),
		easeRow(easeShoulderDart, 0, 20, 10, 10, 0),
	)
}

// easeRow returns one line of the table of fits: the limits for an order, and
// the values of the three fits.
func easeRow(name string, lo, hi, closeFit, regular, loose float64) [3]Ease {
	return [3]Ease{{name, regular, lo, hi}, {name, closeFit, lo, hi}, {name, loose, lo, hi}}
}

// fitsOf returns the three fits of a table, the default one first.
func fitsOf(rows ...[3]Ease) []Fit {
	fits := []Fit{{Name: "regular"}, {Name: "close"}, {Name: "loose"}}
	for _, r := range rows {
		for i := range fits {
			fits[i].Ease = append(fits[i].Ease, r[i])
		}
	}
	return fits
}
