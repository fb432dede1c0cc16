package drafting_test

import (
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/ordertest"
)

// The check of an order states the limits that its body sets, in its unit, and what
// is accepted beside other choices, together with all other faults.
func TestCheckLimitsOnBody(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		file    string
		choices map[string]any
		want    []string // one fault each
	}{
		{"torso", map[string]any{"length": 43.0}, []string{
			"/choices/length: 43 cm: waist, hip, thigh, knee or with these measurements a length from 48 to 160 cm"}},
		{"torso", map[string]any{"length": 48.0}, nil},
		{"torso", map[string]any{"length": 20.0}, []string{"a length from 30 to 160 cm"}},
		{"torso", map[string]any{"centre_front": "fold", "bust_dart": "centre_front", "length": 43.0},
			[]string{"from 48 to 160 cm", "/choices/centre_front: fold: as_fit or seam with bust_dart centre_front"}},
		{"torso", map[string]any{"bust_dart": "centre_front"}, nil},
		{"torso", map[string]any{"centre_front": "fold"}, nil},
	} {
		in := ordertest.Order(t, tc.file).Input()
		in.Choices = tc.choices
		_, faults := drafting.NewOrder(in)
		if len(faults) != len(tc.want) {
			t.Errorf("%v: faults %v, want %d", tc.choices, faults, len(tc.want))
			continue
		}
		for _, want := range tc.want {
			if got := faults.Error(); !strings.Contains(got, want) {
				t.Errorf("%v: faults %q, want %q", tc.choices, got, want)
			}
		}
	}
}
