package proof

import (
	"slices"

	"tapeline/drafting/body"
)

// By how much a belly in pregnancy is taken to be larger than the waist, mm (from memory:
// 200 to 350 at the end). Nobody of the survey and of the model of bodies is pregnant.
const (
	leastGrown = 100.0
	mostGrown  = 380.0
)

// expecting returns the measurements with a belly girth if they are required to have one
// and lack it: grown by a share of the most.
func expecting(given body.Measures, requires []body.Name, share float64) body.Measures {
	waist, known := given[body.WaistGirth]
	if _, has := given[body.BellyGirth]; has || !known || !slices.Contains(requires, body.BellyGirth) {
		return given
	}
	given[body.BellyGirth] = float64(int(waist + leastGrown + share*(mostGrown-leastGrown)))
	return given
}
