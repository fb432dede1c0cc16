package block

import (
	"testing"

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
