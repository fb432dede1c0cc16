package body

import (
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/fault"
)

// Some set inside the hard limits breaks each bound, otherwise the bound would
// have no effect. The fault names every measurement involved.
func TestEveryBoundCatches(t *testing.T) {
	t.Parallel()
	for _, b := range bounds {
		m := Measures{}
		for _, n := range b.parts {
			info, ok := Lookup(n)
			if !ok {
				t.Fatalf("bound on unknown measurement %s", n)
			}
			m[n] = info.Max
		}
		info, ok := Lookup(b.of)
		if !ok {
			t.Fatalf("bound on unknown measurement %s", b.of)
		}
		m[b.of] = info.Min
		_, faults := NewIn(Centimetre, m, nil, nil)
		i := slices.IndexFunc(faults, func(f fault.Fault) bool {
			return f.Code == fault.Contradiction && f.Field == Field(b.parts[0]) && slices.Contains(f.Related, Field(b.of))
		})
		if i < 0 {
			t.Errorf("%v against %s: no contradiction in %v", b.parts, b.of, faults)
			continue
		}
		for _, n := range append(slices.Clone(b.parts), b.of) {
			if !strings.Contains(faults[i].Error(), string(n)) {
				t.Errorf("%q does not name %s", faults[i].Error(), n)
			}
		}
	}
}

func TestContradictionWording(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		unit  Unit
		given Measures
		want  string
	}{
		{Centimetre, Measures{BackWidth: 480, ChestWidth: 420.5, BustGirth: 880},
			"/measurements/back_width: back_width 48 cm + chest_width 42.05 cm = 90.05 cm: " +
				"at most 0.95 of bust_girth 88 cm: the arms take the rest of the girth"},
		{Inch, Measures{WristGirth: 254, UpperArmGirth: 254},
			"/measurements/wrist_girth: wrist_girth 10 inch: " +
				"at most 0.9 of upper_arm_girth 10 inch: the arm is fuller than the wrist"},
		{Centimetre, Measures{UnderBustGirth: 901, BustGirth: 900},
			"/measurements/under_bust_girth: under_bust_girth 90.1 cm: " +
				"at most bust_girth 90 cm: the bust girth is taken at the fullest part"},
	} {
		_, faults := NewIn(tt.unit, tt.given, nil, nil)
		if got := faults.Error(); got != tt.want {
			t.Errorf("got  %s\nwant %s", got, tt.want)
		}
	}
}

// A number outside its hard limits is one fault and contradicts nothing.
func TestImpossibleNumberContradictsNothing(t *testing.T) {
	t.Parallel()
	_, faults := New(Measures{BustGirth: 9000, BackWidth: 340, WaistGirth: 700, HipGirth: 950}, nil)
	if len(faults) != 1 || faults[0].Code != fault.Range {
		t.Errorf("faults = %v, want one range fault", faults)
	}
}
