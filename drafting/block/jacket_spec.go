package block

import (
	"maps"

	"tapeline/drafting/body"
)

// The names of the jacket's choices beside the torso's, and of their values.
const (
	choiceSide = "side"
	choiceBust = "bust"

	sidePanel      = "panel"
	bustShaped     = "shaped"
	bustStraight   = "straight"
	sleeveTwoPiece = "two_piece"
	sleeveOnePiece = "one_piece"
)

// easeShoulderLength extends the shoulder beyond the body's.
const easeShoulderLength = string(body.ShoulderLength)

// flatSurplus is the length in mm by which a front may be longer than the back, over the bust,
// and need no shaping: it goes into the armhole and the hem (common practice: 15 to 25).
const flatSurplus = 20.0

// jacketSpec describes the block for what is worn over a shirt or more.
func jacketSpec() Spec {
	length := lengthChoice
	length.Options = []string{"hip", "thigh", "knee"}
	return Spec{
		Name: "jacket", Title: "Jacket block",
		Requires: torsoNeeds, Uses: torsoUses,
		Choices: []Choice{
			length,
			optionChoice(choiceSide, "A side panel under the arm, between two seams, or a seam at the side.", sidePanel, seam),
			optionChoice(choiceBust, "Shaping over the bust: by the front's seam with a side panel, by a dart from the side "+
				"without; as_body: where the front is over 20 mm longer than the back.", asBody, bustShaped, bustStraight),
			optionChoice(choiceSuppression, "How much of the waist shaping the seams take.", "full", "half", none),
			{Name: choiceCentreFront, Kind: KindOption, Default: Value{Word: fold}, Options: []string{fold, seam},
				Help: "Cut the front on the fold, or in two with a seam."},
			optionChoice(choiceCentreBack, "Cut the back in two with a seam that is taken in at the waist, or on the fold.",
				seam, fold),
			withSpares(optionChoice(choiceSleeve, "A sleeve cut into top and under sleeve; in one piece, upright, to be "+
				"cut; or none.", sleeveTwoPiece, sleeveOnePiece, none), sleeveChoice.Spares),
		},
		Fits: jacketFits(), Alterations: torsoAlterations(),
		Sided: true,
	}
}

// jacketFits returns the ease of the fits: close over a thin shirt, regular over a shirt, loose
// over a knit. The girths are common practice for lined jackets (at the bust 90 to 130 mm, loose
// 160 and up); those of the neck, the shoulder and the sleeve are from memory. What sleeve_cap
// can be depends on the cloth: 25 to 35 mm in wool, 10 to 18 in firm linen or cotton, 0 to 8 in
// leather and coated cloth (from memory).
func jacketFits() []Fit {
	return fitsOf(
		easeRow(string(body.NeckBaseGirth), 0, 80, 15, 18, 24),
		easeRow(easeShoulderLength, 0, 40, 4, 6, 12),
		easeRow(string(body.BustGirth), 0, 500, 95, 120, 180),
		easeRow(string(body.WaistGirth), 0, 600, 85, 110, 180),
		easeRow(string(body.HipGirth), 0, 600, 70, 90, 150),
		easeRow(string(body.BackWidth), 0, 100, 16, 22, 36),
		easeRow(string(body.ChestWidth), 0, 100, 12, 16, 28),
		easeRow(easeScyeDepth, 0, 100, 24, 28, 38),
		easeRow(string(body.UpperArmGirth), 25, 300, 80, 95, 125),
		easeRow(string(body.ElbowGirth), 15, 300, 78, 90, 115),
		easeRow(string(body.WristGirth), 15, 300, 85, 95, 115),
		easeRow(easeCap, 0, 40, 26, 28, 22),
		easeRow(easeShoulder, 0, 12, 6, 6, 6),
	)
}

// torsoRequest returns the request for the straight torso that a jacket is cut from.
func torsoRequest(r Request) Request {
	choices := maps.Clone(r.Choices)
	if choices == nil {
		choices = map[string]Value{}
	}
	choices[choiceSuppression] = Value{Word: r.word(choiceSuppression, "full")}
	choices[choiceElbow] = Value{Word: elbowUpright}
	choices[choiceBustDart] = Value{Word: jacketDart(r)}
	choices[choiceCentreBack] = Value{Word: r.word(choiceCentreBack, seam)}
	choices[choiceArmhole] = Value{Word: "for_sleeve"}
	choices[choiceSleeve] = Value{Word: "full"}
	if r.word(choiceSleeve, sleeveTwoPiece) == none {
		choices[choiceSleeve] = Value{Word: none}
	}
	r.Choices = choices
	return r
}

// jacketDart returns where the bust dart opens that a jacket's front is shaped by.
func jacketDart(r Request) string {
	shaped := r.Body.BustSurplus().Value > flatSurplus
	if how := r.word(choiceBust, asBody); how != asBody {
		shaped = how == bustShaped
	}
	switch {
	case !shaped:
		return none
	case r.word(choiceSide, sidePanel) == sidePanel:
		return edgeArmhole
	}
	return edgeSide
}
