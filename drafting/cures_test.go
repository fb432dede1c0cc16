package drafting_test

import (
	"testing"

	"tapeline/drafting"
)

// TestCures tries on a dress without ease at the bust: what is found tight is cured by
// ease, and the cured order has no such finding.
func TestCures(t *testing.T) {
	o := tried(t, "shift-dress", `"sleeve": "none"`)
	o.Ease = map[string]float64{"bust_girth": 0, "waist_girth": 80}
	opts := drafting.FittingOptions{Quick: true}
	cures, err := drafting.Cures(t.Context(), o, opts)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cures {
		t.Log(c.Finding.Words, c.Words)
		if c.What != drafting.CureEase {
			continue
		}
		o.Ease[c.Name] = c.After
		f, err := drafting.TryOn(t.Context(), o, opts)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range f.Findings {
			if x.Kind == c.Finding.Kind && x.Place == c.Finding.Place {
				t.Errorf("after the cure: %s", x.Words)
			}
		}
		return
	}
	t.Error("no finding of a dress without ease is cured by ease")
}
