package fitting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/ordertest"
)

// TestMaternitySkirtOnTheBody: with a belly of 970 mm the skirt is nowhere
// tight, below its band as well as over the belly.
func TestMaternitySkirtOnTheBody(t *testing.T) {
	for _, choices := range []string{`"top": "band"`, `"top": "elastic"`} {
		o, err := ordertest.Parse([]byte(`{"reference": "F-1", "unit": "cm", "fit": "regular", "measurements": ` +
			strings.TrimSuffix(ordinary, "}") + `, "belly_girth": 97},
			"style": "maternity-skirt", "choices": {` + choices + `}}`))
		if err != nil {
			t.Fatal(err)
		}
		f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s: %v", choices, err)
			continue
		}
		if !f.Settled || !f.Banded || len(f.Levels) == 0 {
			t.Errorf("%s: settled %v, banded %v, levels %v", choices, f.Settled, f.Banded, f.Levels)
		}
		for _, l := range f.Levels {
			// At the waist the band's jersey may take up half of its stretch of 60 %.
			onBand := l.Name == "waist" && choices == `"top": "band"` && l.Worn > l.Cut && l.Worn < 1.3*l.Cut
			if math.Abs(l.Worn/l.Cut-1) > 0.02 && !onBand {
				t.Errorf("%s: %s: worn %.0f mm, cut %.0f", choices, l.Name, l.Worn, l.Cut)
			}
		}
		if len(f.Left) > 0 {
			t.Errorf("%s: left out: %v", choices, f.Left)
		}
		for _, x := range f.Findings {
			t.Errorf("%s: %s", choices, x.Words)
		}
	}
}
