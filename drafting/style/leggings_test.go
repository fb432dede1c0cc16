package style_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// The waistband is at most a tenth shorter than the edge it is sewn to (common
// practice), and the hips pass it stretched, in a knit that stretches little too.
func TestLeggingsWaistband(t *testing.T) {
	t.Parallel()
	for _, stretch := range []float64{20, 40, 60, 150} {
		for _, deep := range []float64{35, 90} {
			p := onStandard(t, "leggings", nil, map[string]block.Value{"stretch": {Number: stretch}, "band": {Number: deep}})
			band, edge := 2*runOf(p, "band", "bottom"), 2*runOf(p, "leg", "waist")
			if band > edge+0.01 || band < 0.9*edge {
				t.Errorf("%.0f %%: a band of %.1f mm on an edge of %.1f", stretch, band, edge)
			}
			if worn := band * (1 + stretch/100); worn < standard[body.HipGirth] {
				t.Errorf("%.0f %%: the band stretches to %.1f mm, the hips are %.0f", stretch, worn, standard[body.HipGirth])
			}
		}
	}
}

// With its band the garment is as high as without: the band takes the place of
// what the leg loses at both centres.
func TestLeggingsKeepTheirRise(t *testing.T) {
	t.Parallel()
	crotch := func(waist string) float64 {
		p := onStandard(t, "leggings", nil, map[string]block.Value{"waist": {Word: waist}, "band": {Number: 60}})
		return runOf(p, "leg", "crotch_front") + runOf(p, "leg", "crotch_back")
	}
	if lost := crotch("turned") - crotch("band"); math.Abs(lost-120) > 0.5 {
		t.Errorf("with a band of 60 mm the crotch seam is %.1f mm shorter, want 120", lost)
	}
}

// The elastic follows the waist at its level.
func TestLeggingsElastic(t *testing.T) {
	t.Parallel()
	elastic := func(waist float64, rise string) (long float64) {
		p := onStandard(t, "leggings", body.Measures{body.WaistGirth: waist}, map[string]block.Value{"rise": {Word: rise}})
		for _, n := range p.Instructions.Notions {
			if strings.HasPrefix(n, "Elastic") {
				if _, err := fmt.Sscanf(n, "Elastic 25 mm wide, %f mm long", &long); err != nil {
					t.Fatalf("%q: %v", n, err)
				}
			}
		}
		return long
	}
	narrow, wide, low := elastic(700, "natural"), elastic(800, "natural"), elastic(700, "low")
	if narrow < 0.9*700 || narrow > 700 || wide-narrow < 80 || wide-narrow > 100 || low <= narrow {
		t.Errorf("elastic of %.0f mm for a waist of 700, %.0f for 800, %.0f for 700 worn low", narrow, wide, low)
	}
}
