package style_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/style"
)

// A garment needs no measures of an arm that it does not cover, and is drafted
// without them in every variant, as with them.
func TestNeedsByChoices(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		spec := s.Spec()
		for i, choices := range variantsOf(spec) {
			requires, uses := s.Needs(choices)
			whole := surveytest.WithBellies(surveytest.Women(t))[i]
			whole["elbow_girth"] = 250
			least := body.Measures{}
			for _, n := range requires {
				if v, ok := whole[n]; ok {
					least[n] = v
				}
			}
			for _, n := range []body.Name{"waist_height", "hip_height", "height"} { // instead of waist_to_hip, body_rise
				least[n] = whole[n]
			}
			b, faults := body.NewIn(body.Millimetre, least, requires, uses)
			if faults != nil {
				t.Errorf("%s %v: %v", s.Head.Slug, choices, faults)
				continue
			}
			if _, err := s.Draft(t.Context(), block.Request{Body: b, Fit: spec.Fits[0].Name, Choices: choices}); err != nil {
				t.Errorf("%s %v with %v: %v", s.Head.Slug, choices, slices.Sorted(maps.Keys(least)), err)
			}
		}
	}
}

func TestNeedsOfSleeves(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("gathered-skirt-dress")
	for sleeve, spared := range map[string][]body.Name{
		"none":   {body.UpperArmGirth, body.WristGirth, body.ArmLength},
		"puffed": {body.WristGirth},
	} {
		requires, uses := s.Needs(map[string]block.Value{"sleeve": {Word: sleeve}})
		for _, n := range []body.Name{body.UpperArmGirth, body.WristGirth, body.ArmLength} {
			if slices.Contains(requires, n) == slices.Contains(spared, n) {
				t.Errorf("sleeve %s requires %v", sleeve, requires)
			}
		}
		if sleeve == "none" && (!slices.Contains(uses, body.UpperArmGirth) || slices.Contains(uses, body.ElbowGirth)) {
			t.Errorf("without a sleeve the draft uses %v", uses)
		}
	}
	var spares map[string][]body.Name
	for _, c := range s.Describe(body.Centimetre).Choices {
		if c.Name == "sleeve" {
			spares = c.Spares
		}
	}
	if got, want := fmt.Sprint(spares), "map[none:[upper_arm_girth arm_length]]"; got != want {
		t.Errorf("spares %s, want %s", got, want)
	}
	if got := s.Spec().Requires; !slices.Contains(got, body.ArmLength) || slices.Contains(got, body.WristGirth) {
		t.Errorf("requires %v", got)
	}
}
