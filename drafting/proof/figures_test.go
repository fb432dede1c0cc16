package proof_test

import (
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/proof"
)

// The figures of a panel are six different bodies that are as their names say.
func TestFigures(t *testing.T) {
	t.Parallel()
	for blockName, want := range map[string]string{
		"torso": "small, middle, full bust, pear, large, tall", "skirt": "small, middle, full bust, pear, large, tall",
		"straight": "small woman, middle woman, pear, middle man, stout man, tall man",
	} {
		panel := proof.Panel(blockName)
		var names []string
		seen := map[int]bool{}
		of := map[string]body.Measures{}
		for _, f := range proof.Figures(panel) {
			names = append(names, f.Name)
			of[f.Name] = panel[f.Body].Given
			if seen[f.Body] || strings.Contains(panel[f.Body].Name, "estimates") || strings.Contains(panel[f.Body].Name, "sd") {
				t.Errorf("%s: %s is %s", blockName, f.Name, panel[f.Body].Name)
			}
			seen[f.Body] = true
			t.Logf("%s: %s", f.Name, panel[f.Body].Name)
		}
		if got := strings.Join(names, ", "); got != want {
			t.Errorf("%s: %s; want %s", blockName, got, want)
		}
		if panel[proof.Middle(panel)].Given[body.BustGirth] != 960 {
			t.Errorf("%s: the middle is %s", blockName, panel[proof.Middle(panel)].Name)
		}
		over := func(m body.Measures) float64 { return m[body.BustGirth] - m[body.HipGirth] }
		if m, full := of["middle"], of["full bust"]; m != nil && over(full) <= over(m) {
			t.Errorf("%s: full bust %v", blockName, full)
		}
	}
}
