package body_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/body"
)

// 1 inch is 25.4 mm exactly (agreement of 1959).
func TestUnitsConvertExactly(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		unit body.Unit
		v    float64
		mm   float64
		text string
	}{
		{body.Centimetre, 92, 920, "92 cm"},
		{body.Centimetre, 30.48, 304.8, "30.48 cm"},
		{body.Centimetre, 0.1, 1, "0.1 cm"},
		{body.Centimetre, 58.3, 583, "58.3 cm"},
		{body.Inch, 12, 304.8, "12 inch"},
		{body.Inch, 36.25, 920.75, "36.25 inch"},
		{body.Inch, 0.375, 9.525, "0.375 inch"},
		{body.Millimetre, 920, 920, "920 mm"},
		{body.Degree, 21, 21, "21 degree"},
	} {
		if got := tt.unit.MM(tt.v); got != tt.mm {
			t.Errorf("%g %s = %.17g mm, want %.17g", tt.v, tt.unit, got, tt.mm)
		}
		if got := tt.unit.From(tt.mm); got != tt.v {
			t.Errorf("%g mm = %.17g %s, want %.17g", tt.mm, got, tt.unit, tt.v)
		}
		if got := tt.unit.Format(tt.mm); got != tt.text {
			t.Errorf("%g mm in %s is formatted as %q, want %q", tt.mm, tt.unit, got, tt.text)
		}
	}
}

// Measures and Values convert lengths and leave angles in degrees.
func TestUnitsOfMeasures(t *testing.T) {
	t.Parallel()
	given := map[string]float64{"bust_girth": 36, "shoulder_slope": 20}
	want := body.Measures{body.BustGirth: 914.4, body.ShoulderSlope: 20}
	m := body.Inch.Measures(given)
	if !maps.Equal(m, want) {
		t.Errorf("Measures(%v) = %v, want %v", given, m, want)
	}
	if got := body.Inch.Values(m); !maps.Equal(got, given) {
		t.Errorf("Values(%v) = %v, want %v", m, got, given)
	}
}

func TestUnitsRoundTrip(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for range 100_000 {
		v := float64(r.IntN(1_000_000)) / 1000
		for _, u := range []body.Unit{body.Centimetre, body.Inch} {
			if got := u.From(u.MM(v)); math.Abs(got-v) > 1e-12 {
				t.Fatalf("%v %s converts to mm and back to %v", v, u, got)
			}
		}
	}
	for _, v := range []float64{math.Inf(1), math.NaN(), 1e300, -1e300} {
		if got := body.Inch.MM(v); !math.IsNaN(v) && math.Abs(got) < 1e299 {
			t.Errorf("MM(%g) = %g", v, got)
		}
	}
}
