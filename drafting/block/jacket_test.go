package block

import (
	"fmt"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// jacketVariants are choices that between them try every way to cut a jacket.
var jacketVariants = []map[string]Value{
	words(),
	words("side", "seam", "centre_back", "fold", "length", "knee"),
	words("side", "seam", "bust", "shaped", "sleeve", "one_piece", "suppression", "half"),
	words("bust", "shaped", "sleeve", "none", "length", "thigh"),
	words("bust", "straight", "suppression", "none", "centre_front", "seam"),
	{"length": {Number: 620}, "centre_back": {Word: "fold"}},
}

// Every real body is drafted or refused with a reason, under 0.5 % refused (ANSUR II; the figures
// are the product's own promise).
func TestJacketsOfTheSurvey(t *testing.T) {
	t.Parallel()
	for i, choices := range jacketVariants {
		nth := everyNth(17)
		if i == 0 {
			nth = everyNth(5)
		}
		y := draftAll(t, jacketSpec(), surveytest.Women(t), nth, choices)
		men := draftAll(t, jacketSpec(), surveytest.Men(t), 2*nth, choices)
		if total := y.drafted + y.refused + men.drafted + men.refused; (y.refused+men.refused)*200 > total {
			t.Errorf("%v: %d of %d refused: %v %v", choices, y.refused+men.refused, total, y.reasons, men.reasons)
		}
	}
}

// Every alteration at both its ends, with all the others a little, and on one side alone, is drafted
// and read back.
func TestAlteredJackets(t *testing.T) {
	t.Parallel()
	spec := jacketSpec()
	people := surveytest.Women(t)
	y := newTally()
	for i := 0; i < len(people); i += everyNth(70) {
		b, faults := body.NewIn(body.Millimetre, people[i], spec.Requires, spec.Uses)
		if faults != nil {
			t.Fatal(faults)
		}
		for _, a := range spec.Alterations {
			for _, v := range []float64{a.Min, a.Max} {
				r := Request{Body: b, Fit: "regular", Alterations: map[string]float64{a.Name: v}}
				if a.Sided && v == a.Max {
					r.Alterations, r.Left = map[string]float64{alterSwayBack: 25}, map[string]float64{a.Name: v}
				}
				p, err := Draft(t.Context(), spec.Name, r)
				y.add(t, fmt.Sprintf("row %d %v %v", i, r.Alterations, r.Left), p, err)
			}
		}
	}
	y.report(t)
}
