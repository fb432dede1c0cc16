package drafting_test

import (
	"slices"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body/surveytest"
)

// TestCures tries on a dress without ease at the bust: what is found tight is cured by
// ease, and the cured order has no such finding.
func TestCures(t *testing.T) {
	o := tried(t, "shift-dress", `"sleeve": "none"`)
	o.Ease = map[string]float64{"bust_girth": 0, "waist_girth": 80}
	opts := drafting.FittingOptions{Quick: true}
	cured, err := drafting.Cures(t.Context(), o, opts)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cured.Cures {
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

// TestCuresLevelHems tries toiles on that hang lower behind than in front, or the other way: the
// hem is levelled by alterations, and the order that is returned has them.
func TestCuresLevelHems(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for _, row := range sampled([]int{99, 605, 675}) {
		o := tried(t, "torso-toile", "")
		o.Measurements = people[row]
		cured, err := drafting.Cures(t.Context(), o, drafting.FittingOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(cured.Cures, func(c drafting.Cure) bool { return c.Finding.Place == "hem" }) {
			t.Errorf("row %d: hem is not cured: %+v", row, cured.Cures)
		}
		again, err := drafting.TryOn(t.Context(), cured.Order, drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(again.Findings) > 0 {
			t.Errorf("row %d, with the cures: %+v", row, again.Findings)
		}
	}
}
