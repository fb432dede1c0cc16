package style_test

import (
	"fmt"
	"maps"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
)

// bodysuitOn is a bodysuit on the standard body with some measures of its own.
func bodysuitOn(t *testing.T, own body.Measures, choices map[string]block.Value) pattern.Pattern {
	t.Helper()
	m := maps.Clone(standard)
	m[body.BodyRise], m[body.ThighGirth], m[body.HeadGirth] = 280, 570, 600
	maps.Copy(m, own)
	return drafted(t, "bodysuit", m, choices)
}

// Stretched, the neck passes the head, and the hips where the crotch is sewn shut; the legs pass
// the thighs. Each band is as long as its edge or at most 15 per cent shorter (common practice: 85 to
// 95 %, more where it must pass something).
func TestBodysuitCanBePutOn(t *testing.T) {
	t.Parallel()
	for _, stretch := range []float64{30, 60, 100} {
		for crotch, neck := range map[string]float64{"snaps": 600, "closed": standard[body.HipGirth]} {
			for _, leg := range []string{"low", "high"} {
				choices := map[string]block.Value{"stretch": {Number: stretch}, "crotch": {Word: crotch}, "leg": {Word: leg},
					"neck_depth": {Number: 20}}
				p := bodysuitOn(t, nil, choices)
				name := fmt.Sprintf("%.0f %%, %s, %s", stretch, crotch, leg)
				legs := runOf(p, "front", "leg") + runOf(p, "back", "leg")
				if crotch == "closed" {
					legs += runOf(p, "gusset", "leg")
				}
				necks := 2 * (runOf(p, "front", "neckline") + runOf(p, "back", "neckline"))
				for _, ring := range []struct {
					band       string
					long, edge float64
					pass       float64
				}{
					{"neck", 2 * runOf(p, "neck_band", "bottom"), necks, neck},
					{"leg", runOf(p, "leg_band", "bottom"), legs, 570},
				} {
					if worn := ring.long * (1 + stretch/100); worn < ring.pass {
						t.Errorf("%s: the %s band stretches to %.1f mm, want %.0f", name, ring.band, worn, ring.pass)
					}
					if ratio := ring.long / ring.edge; ratio < 0.85 || ratio > 1.0001 {
						t.Errorf("%s: the %s band is %.2f of its edge", name, ring.band, ratio)
					}
				}
			}
		}
	}
}

// Between the legs the ends that snap lap by 20 mm: front and back are so much longer together
// than with a gusset.
func TestBodysuitLaps(t *testing.T) {
	t.Parallel()
	around := func(crotch string) float64 {
		p := bodysuitOn(t, nil, map[string]block.Value{"crotch": {Word: crotch}, "neck_depth": {Number: 140},
			"neck_width": {Number: 60}, "back_depth": {Number: 140}, "stretch": {Number: 100}})
		long := runOf(p, "front", "centre_front") + runOf(p, "back", "centre_back")
		if crotch == "closed" {
			long += runOf(p, "gusset", "centre")
		}
		return long
	}
	if lap := around("snaps") - around("closed"); lap < 19.5 || lap > 20.5 {
		t.Errorf("the ends lap by %.1f mm, want 20", lap)
	}
}
