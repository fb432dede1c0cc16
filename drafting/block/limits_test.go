package block_test

import (
	"fmt"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// A body takes a number at both ends of the limits that a block states for it, and the
// block refuses one beyond them.
func TestLimitsOnBodies(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for _, spec := range block.Specs() {
		for _, c := range spec.Choices {
			if !c.FollowsBody() {
				continue
			}
			t.Run(spec.Name+" "+c.Name, func(t *testing.T) {
				t.Parallel()
				narrower := 0
				requires, uses := spec.Needs(nil)
				for i := 3; i < len(people); i += 97 {
					b, faults := body.NewIn(body.Millimetre, people[i], requires, uses)
					if len(faults) > 0 {
						t.Fatal(faults)
					}
					if takesLimits(t, fmt.Sprintf("body %d", i), spec, c, block.Request{Body: b, Fit: spec.Fits[0].Name}) {
						narrower++
					}
				}
				if narrower == 0 {
					t.Error("no body has narrower limits than the choice")
				}
			})
		}
	}
}

// takesLimits drafts a request with a choice at its limits, and reports whether they
// are narrower than those of the choice; a number beyond them must be refused.
func takesLimits(t *testing.T, name string, spec block.Spec, c block.Choice, r block.Request) bool {
	t.Helper()
	lo, hi := c.Range(r)
	if lo < c.Min || hi > c.Max || lo >= hi {
		t.Errorf("%s: limits %.0f to %.0f mm beyond %.0f to %.0f", name, lo, hi, c.Min, c.Max)
	}
	draft := func(v float64) error {
		r.Choices = map[string]block.Value{c.Name: {Number: v, Length: true}}
		_, err := block.Draft(t.Context(), spec.Name, r)
		return err
	}
	for _, v := range []float64{lo, hi} {
		if err := draft(v); err != nil {
			t.Errorf("%s: %.0f mm: %v", name, v, err)
		}
	}
	var beyond float64
	switch {
	case lo > c.Min:
		beyond = lo - 3
	case hi < c.Max:
		beyond = hi + 3
	default:
		return false
	}
	if err := draft(beyond); err == nil {
		t.Errorf("%s: %.0f mm is drafted, beyond %.0f to %.0f", name, beyond, lo, hi)
	}
	return true
}
