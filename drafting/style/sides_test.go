package style_test

import (
	"errors"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// A garment that is drafted to a woman is also drafted to her with a shoulder
// that differs: openings end at one height on both sides, and what lies on the
// fold meets there. Where a script steps its neck on until the head passes, the
// two sides may take another number of steps; that is refused with its reason.
func TestSidesThatDifferOnRealBodies(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	women := surveytest.Women(t)
	sides := []map[string]float64{
		{"shoulder_height": -8}, {"shoulder_height": -20}, {"shoulder_height": 10, "shoulder_forward": 10, "upper_arm": 15},
	}
	for _, s := range all {
		spec := s.Spec()
		if base, _ := block.Find(s.Head.Block); !base.Sided {
			continue
		}
		tried, refused := 0, 0
		for i := 0; i < len(women); i += everyNth(90) {
			b, faults := body.NewIn(body.Centimetre, women[i], spec.Requires, spec.Uses)
			if faults != nil {
				t.Fatal(faults)
			}
			request := block.Request{Body: b, Fit: spec.Fits[0].Name}
			if _, err := s.Draft(t.Context(), request); err != nil {
				continue
			}
			for _, own := range sides {
				tried++
				request.Left = own
				_, err := s.Draft(t.Context(), request)
				if _, ok := errors.AsType[fault.List](err); ok {
					refused++
				} else if err != nil {
					t.Errorf("%s on woman %d, left %v: %v", s.Head.Slug, i, own, err)
				}
			}
		}
		if refused*10 > tried || refused > 0 && s.Head.Slug != "knit-top" {
			t.Errorf("%s: %d of %d refused", s.Head.Slug, refused, tried)
		}
	}
}
