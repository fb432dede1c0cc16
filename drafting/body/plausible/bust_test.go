package plausible_test

import (
	"maps"
	"slices"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
)

// A front length is in question where the girths tell of another bust, and
// only there.
func TestFrontLengthAgainstGirths(t *testing.T) {
	t.Parallel()
	woman := body.Measures{
		body.Height: 1680, body.BustGirth: 920, body.WaistGirth: 740, body.HipGirth: 980, body.NeckBaseGirth: 375,
		body.ShoulderLength: 126, body.BackWidth: 355, body.NapeToWaist: 415, body.WaistToHip: 205,
		body.UpperArmGirth: 285, body.WristGirth: 160, body.ArmLength: 590,
	}
	const level = 415 + 0.055*375 + 3 + 2.4 // of a front that is as long as the back
	for _, c := range []struct {
		name  string
		more  body.Measures
		level plausible.Level
	}{
		{"the usual length", body.Measures{body.FrontWaistLength: level + 30}, ""},
		{"a little short", body.Measures{body.FrontWaistLength: level + 15}, ""},
		{"none for the bust", body.Measures{body.FrontWaistLength: level - 3}, plausible.Note},
		{"shorter than the back", body.Measures{body.FrontWaistLength: level - 15}, plausible.Confirm},
		{"none, but hardly a bust", body.Measures{body.FrontWaistLength: level, body.UnderBustGirth: 850}, ""},
		{"none, for a full cup", body.Measures{body.FrontWaistLength: level, body.UnderBustGirth: 740}, plausible.Confirm},
	} {
		m := maps.Clone(woman)
		maps.Copy(m, c.more)
		var got plausible.Level
		for _, f := range plausible.Default().Assess(body.Centimetre, m).Findings {
			if f.Name == body.FrontWaistLength {
				got = f.Level
				if f.Question == "" || !slices.Contains(f.Related, body.Field(body.NapeToWaist)) {
					t.Errorf("%s: %+v", c.name, f)
				}
			}
		}
		if got != c.level {
			t.Errorf("%s: %q, want %q", c.name, got, c.level)
		}
	}
}
