package drafting_test

import (
	"maps"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fitting"
)

// TestTryOnBody tries a body on that ends between the legs, snapped there or sewn shut: it comes to
// rest with nothing tight, and on a wearer whose trunk is 40 mm longer than it was drafted for, before
// and behind, the cloth of front and back is stretched lengthwise by more, by up to what it lacks.
func TestTryOnBody(t *testing.T) {
	for _, choices := range []string{"", `"crotch": "closed"`} {
		order := tried(t, "bodysuit", choices)
		try := func(o drafting.Order, opts drafting.FittingOptions) (f *drafting.Fitting, mean float64) {
			opts.Quick = true
			f, err := drafting.TryOn(t.Context(), o, opts)
			if err != nil {
				t.Fatal(err)
			}
			if !f.Settled {
				t.Errorf("%s: did not settle: %.3f", choices, f.Residual)
			}
			n := 0.0
			for _, r := range f.Readings {
				if strings.HasSuffix(r.Place, ", lengthwise") {
					mean, n = mean+r.Value, n+1
				}
			}
			return f, mean / n
		}
		f, own := try(order, drafting.FittingOptions{})
		for _, x := range f.Findings {
			if x.Kind == fitting.Tight {
				t.Errorf("%s: %s", choices, x.Words)
			}
		}
		const more = 40 // mm
		tall := order
		tall.Measurements = maps.Clone(order.Measurements)
		tall.Measurements[body.NapeToWaist] += more
		other, _ := try(tall, drafting.FittingOptions{})
		_, long := try(order, drafting.FittingOptions{Form: other.Form})
		lacks := 100 * more / order.Measurements[body.NapeToWaist]
		t.Logf("%q: stretched lengthwise by %.1f %%, on the longer wearer by %.1f", choices, own, long)
		// Straps and neck give way too, and legs are pulled up.
		if long < own+lacks/10 || long > own+lacks {
			t.Errorf("%s: on the longer wearer stretched by %.1f %% more, want up to %.1f", choices, long-own, lacks)
		}
	}
}
