package drafting_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/document"
	"tapeline/drafting/fitting"
)

// TestTryOnBuiltIn tries on garments whose fronts overlap, whose sleeves are of two pieces, or
// that something else than shoulders and a sewn band holds up: they come to rest, their
// girths are those of the cut, what they do not wear of the pattern is named, and nothing of
// ordinary ease is tight.
func TestTryOnBuiltIn(t *testing.T) {
	type worn struct {
		style, choices string
		levels, left   []string
	}
	for _, test := range sampled([]worn{
		{"tailored-jacket", "", []string{"under bust", "waist", "high hip", "hip", "upper arm", "elbow", "wrist"},
			[]string{"front_facing", "back_facing", "collar", "under_collar", "front_lining", "side_lining", "back_lining",
				"top_lining", "under_lining", "pocket_jet", "pocket_flap", "pocket_bag"}},
		{"tailored-jacket", `"collar": "shawl", "vent": true, "pockets": "none"`,
			[]string{"under bust", "waist", "high hip", "hip", "upper arm", "elbow", "wrist"},
			[]string{"front_facing", "back_facing", "front_lining", "side_lining", "back_lining", "top_lining", "under_lining"}},
		{"coat", `"pockets": false`, []string{"under bust", "waist", "high hip", "hip", "upper arm", "elbow", "wrist"},
			[]string{"front_facing", "back_facing", "collar", "under_collar", "front_lining", "back_lining", "top_lining",
				"under_lining"}},
		{"coat", `"pockets": false, "collar": "hood", "vent": false`,
			[]string{"under bust", "waist", "high hip", "hip", "upper arm", "elbow", "wrist"},
			[]string{"front_facing", "back_facing", "hood", "front_lining", "back_lining", "top_lining", "under_lining",
				"hood_lining"}},
		{"waistcoat", "", []string{"bust", "under bust", "waist"},
			[]string{"front_facing", "front_lining", "pocket_welt", "pocket_bag", "strap"}},
		{"wrap-robe", "", []string{"waist", "high hip", "hip", "elbow", "wrist"},
			[]string{"front_facing", "belt", "belt_loop", "pocket"}},
		{"dolman-jacket", "", []string{"waist", "high hip", "hip", "elbow", "wrist"}, []string{"cuff", "pocket"}},
		// Without its band the sweatshirt ends about the high hip.
		{"hooded-sweatshirt", `"closing": "zip", "pocket": false`,
			[]string{"under bust", "waist", "high hip", "upper arm", "elbow"},
			[]string{"hem_band", "cuff_band", "hood", "hood_lining"}},
		{"pyjama-trousers", "", []string{"high hip", "hip"}, nil},
		{"pleated-skirt", "", []string{"high hip", "hip"}, []string{"waistband"}},
		{"bias-slip", "", []string{"under bust", "waist", "high hip", "hip"},
			[]string{"front_strip", "back_strip", "arm_strip", "strap"}},
	}) {
		f, err := drafting.TryOn(t.Context(), tried(t, test.style, test.choices), drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s, %s: %v", test.style, test.choices, err)
			continue
		}
		if !f.Settled {
			t.Errorf("%s, %s: did not settle: %.3f", test.style, test.choices, f.Residual)
		}
		var levels []string
		for _, l := range f.Levels {
			levels = append(levels, l.Name)
			if math.Abs(l.Worn/l.Cut-1) > 0.01 {
				t.Errorf("%s, %s: %s: worn %.1f mm, cut %.1f", test.style, test.choices, l.Name, l.Worn, l.Cut)
			}
		}
		if !slices.Equal(levels, test.levels) {
			t.Errorf("%s, %s: levels %q, want %q", test.style, test.choices, levels, test.levels)
		}
		if !slices.Equal(f.Left, test.left) {
			t.Errorf("%s, %s: left out %q, want %q", test.style, test.choices, f.Left, test.left)
		}
		for _, x := range f.Findings {
			if x.Kind == fitting.Tight {
				t.Errorf("%s, %s, of ordinary ease: %s", test.style, test.choices, x.Words)
			}
		}
	}
}

// A draft that was stored is tried on as it was when it was made.
func TestTryStoredDraftOn(t *testing.T) {
	styles := []string{"shift-dress", "button-shirt", "straight-trousers", "pleated-skirt", "coat", "leggings"}
	for _, style := range styles {
		t.Run(style, func(t *testing.T) {
			t.Parallel()
			o := tried(t, style, "")
			made, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
			if err != nil {
				t.Fatal(err)
			}
			data, err := document.New(made.Pattern).Encode()
			if err != nil {
				t.Fatal(err)
			}
			read, err := document.Decode(data)
			if err != nil {
				t.Fatal(err)
			}
			stored := read.Pattern()
			again, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true, Draft: &stored})
			if err != nil {
				t.Fatal(err)
			}
			was, is := made.Report(""), again.Report("")
			if !reflect.DeepEqual(was, is) {
				t.Errorf("made: %+v\nstored: %+v", was, is)
			}
		})
	}
}
