package fitting_test

import (
	"math"
	"testing"

	"tapeline/drafting"
)

// TestElasticInAWaistSeam: elastic in the seam draws bodice and skirt, some 1,050 mm wide as cut, in
// to the waist of 760, on which they lie within an ease of 40: the rows of triangles are 26 mm apart.
func TestElasticInAWaistSeam(t *testing.T) {
	f, err := drafting.TryOn(t.Context(), orderOf(t, "gathered-skirt-dress", `"waist": "elastic"`),
		drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	if !f.Settled {
		t.Error("it does not come to rest")
	}
	for _, l := range f.Levels {
		switch {
		case l.Name != "waist":
		case l.Worn < 760 || l.Worn > 800 || math.Abs(l.Worn/l.Cut-1) > 0.03:
			t.Errorf("the waist is worn %.0f mm round and counts as %.0f, want 760 to 800", l.Worn, l.Cut)
		default:
			return
		}
	}
	t.Error("the waist is not read")
}
