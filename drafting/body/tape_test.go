package body

import "testing"

// A tape measure in inches has sixteenths, the others tenths of their unit.
func TestTape(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		unit Unit
		mm   float64
		want string
	}{
		{Inch, 0, "0"},
		{Inch, 0.7, "0"},
		{Inch, -0.7, "0"},
		{Inch, 0.8, "1/16"},
		{Inch, 3, "1/8"},
		{Inch, 12.7, "1/2"},
		{Inch, 25.3, "1"},
		{Inch, 1028.7, "40 1/2"},
		{Inch, 40.4 * 25.4, "40 3/8"},
		{Inch, -1.75 * 25.4, "-1 3/4"},
		{Centimetre, 1028.7, "102.9"},
		{Centimetre, 0, "0.0"},
		{Millimetre, 12.34, "12.3"},
	} {
		if got := tc.unit.Tape(tc.mm); got != tc.want {
			t.Errorf("%g mm in %s: %q, want %q", tc.mm, tc.unit, got, tc.want)
		}
	}
}
