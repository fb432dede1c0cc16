package fitting_test

import (
	"slices"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/fitting"
)

// TestNecklineLiesDouble: a robe hangs from the back of its neck. Where its collar is sewn to it, which
// is left out, the cloth is stretched less than if its neckline were raw.
func TestNecklineLiesDouble(t *testing.T) {
	o := orderOf(t, "wrap-robe", "")
	finished, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	draft := finished.Pattern
	draft.Seams = slices.Clone(draft.Seams)
	for i := len(draft.Seams) - 1; i >= 0; i-- {
		if s := draft.Seams[i]; s.A.Edge == "neckline" || s.B.Edge == "neckline" {
			draft.Seams = slices.Delete(draft.Seams, i, i+1)
		}
	}
	raw, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true, Draft: &draft, Form: finished.Form})
	if err != nil {
		t.Fatal(err)
	}
	read := func(f *drafting.Fitting) float64 {
		i := slices.IndexFunc(f.Readings, func(r fitting.Reading) bool {
			return r.Kind == fitting.Tight && r.Place == "upper back"
		})
		if i < 0 {
			t.Fatalf("nothing read at the upper back: %+v", f.Readings)
		}
		return f.Readings[i].Value
	}
	a, b := read(finished), read(raw)
	t.Logf("%.2f %% with a collar, %.2f %% raw", a, b)
	if a > 0.9*b {
		t.Errorf("stretched by %.2f %% beside a collar, %.2f %% raw", a, b)
	}
}
