package fitting_test

import (
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/ordertest"
)

// TestHemOverSeat hangs dresses on two women, on whom their hems rose behind by 15 and 14 mm
// before backs had the length of the seat.
func TestHemOverSeat(t *testing.T) {
	t.Parallel()
	const full = `"height": 164, "bust_girth": 110, "waist_girth": 94, "hip_girth": 117`
	const medium = `"height": 164, "bust_girth": 96, "waist_girth": 80, "hip_girth": 104`
	const rest = `, "neck_base_girth": 40, "shoulder_length": 12.8, "back_width": 39, "nape_to_waist": 42.5,
		"waist_to_hip": 20.5, "upper_arm_girth": 33, "wrist_girth": 17, "arm_length": 58, "head_girth": 57`
	for _, c := range []struct{ style, fit, body string }{
		{"shift-dress", "regular", full}, {"princess-dress", "close", medium},
	} {
		o, err := ordertest.Parse([]byte(`{"reference": "F-2", "unit": "cm", "fit": "` + c.fit + `", "style": "` + c.style +
			`", "measurements": {` + c.body + rest + `}, "choices": {"sleeve": "none"}}`))
		if err != nil {
			t.Fatal(err)
		}
		f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range f.Readings {
			if r.Place == "hem" {
				t.Logf("%s, %s: the hem is level within %.1f mm", c.style, strings.Fields(c.body)[3], r.Value)
				if r.Value > r.Limit {
					t.Errorf("%s: the hem is level within %.1f mm only, want %.0f", c.style, r.Value, r.Limit)
				}
			}
		}
	}
}
