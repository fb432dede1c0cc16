package block

import (
	"tapeline/drafting/body"
)

var skirtLengthChoice = Choice{
	Name: choiceLength, Kind: KindLength, Default: Value{Word: "knee"},
	Options: []string{"mini", "knee", "midi", "ankle"}, Min: 200, Max: 1300,
	Help: "Where the skirt ends, or its length from the natural waist down the side, to at least 40 mm below the hip " +
		"line.",
	limits: skirtLengths,
}

// skirtSpec describes a straight skirt with two darts in the back and one in
// the front, for women's and men's measurements.
func skirtSpec() Spec {
	return Spec{
		Name: "skirt", Title: "Straight skirt block",
		Requires: []body.Name{body.WaistGirth, body.HipGirth, body.WaistToHip, body.BellyGirth},
		Uses:     []body.Name{body.HighHipGirth, body.WaistToThigh, body.WaistToKnee, body.WaistToFloor, body.WaistToBelly},
		Choices: []Choice{
			skirtLengthChoice,
			lowerWaistChoice(skirtWaists),
			maternityChoice,
			optionChoice(choiceCentreBack, "Cut the back in two with a seam, for a fastening or a vent, or on the fold.", seam,
				fold),
			optionChoice(choiceCentreFront, "Cut the front on the fold, or in two with a seam.", fold, seam),
		},
		Fits: skirtFits(),
	}
}

// skirtFits returns the ease of the fits. Close is the handbook's (see
// backMore): 30 mm at the hip, and 10 mm at the waist that are eased into the
// waistband. The others are common practice. The ease over a belly in pregnancy is also what it may
// still grow (ours).
func skirtFits() []Fit {
	return fitsOf(
		easeRow(string(body.WaistGirth), 0, 300, 10, 20, 40),
		easeRow(string(body.HipGirth), 0, 500, 30, 50, 90),
		easeRow(string(body.BellyGirth), 40, 300, 60, 90, 130),
	)
}
