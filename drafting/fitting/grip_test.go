package fitting_test

import (
	"slices"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/fitting"
	"tapeline/drafting/ordertest"
)

// TestWrongBalance: a coat drafted for the wearer hangs level, and the same drafted
// for a back that is 20 mm rounder than hers hangs lower behind, by at least half of that. That its
// shoulders are held does not hide it.
func TestWrongBalance(t *testing.T) {
	hem := func(alterations string) (value float64, found bool) {
		o, err := ordertest.Parse([]byte(`{"reference": "F-1", "unit": "cm", "fit": "regular", "measurements": ` + ordinary +
			`, "style": "coat", "choices": {"pockets": false}, "alterations": {` + alterations + `}}`))
		if err != nil {
			t.Fatal(err)
		}
		f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(f.Readings, func(r fitting.Reading) bool { return r.Kind == fitting.Hangs && r.Place == "hem" })
		if !f.Settled || i < 0 {
			t.Fatalf("settled %v, readings %+v", f.Settled, f.Readings)
		}
		t.Logf("%q: %+v, findings %+v", alterations, f.Readings[i], f.Findings)
		return f.Readings[i].Value, slices.ContainsFunc(f.Findings, func(x fitting.Finding) bool { return x.Place == "hem" })
	}
	level, found := hem("")
	if found {
		t.Errorf("drafted for the wearer the hem is found: %.1f mm", level)
	}
	off, found := hem(`"round_back": 2`)
	if !found || off < level+10 {
		t.Errorf("with a back too long by 20 mm the hem is found: %v, %.1f mm, before %.1f", found, off, level)
	}
}
