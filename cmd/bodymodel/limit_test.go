package main

import (
	"math"
	"testing"
)

// The best test of one number asks beyond the quantile of the normal
// distribution: 2.5758 standard deviations for one false alarm in a hundred (any
// table of the distribution).
func TestBestTestOfOneNumber(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ slip, alarms, want float64 }{
		{2.5758, 0.01, 0.5}, {2.5758 + 1.2816, 0.01, 0.9}, {1.9600 + 0.8416, 0.05, 0.8}, {8, 0.01, 1},
	} {
		if got := bestTest([]float64{tt.slip}, tt.alarms)[0]; math.Abs(got-tt.want) > 1e-4 {
			t.Errorf("slip of %g standard deviations, %g false alarms: %g, want %g", tt.slip, tt.alarms, got, tt.want)
		}
	}
}

// The best test of several numbers allots false alarms where they find most, so
// it finds at least as many slips as equal shares.
func TestBestTestOfSeveral(t *testing.T) {
	t.Parallel()
	slips := []float64{1.5, 2.5, 4, 9}
	best, shared := 0.0, 0.0
	for _, v := range bestTest(slips, 0.01) {
		best += v
	}
	for _, d := range slips {
		shared += bestTest([]float64{d}, 0.01/float64(len(slips)))[0]
	}
	if best < shared || best > shared+0.5 {
		t.Errorf("found %g of 4, with equal shares of false alarms %g", best, shared)
	}
	for bound := -3.0; bound < 60; bound += 7 {
		for _, d := range slips {
			x := deviation(bound, d)
			if ratio := math.Exp(-d*d/2) * math.Cosh(d*x); x > 0 && math.Abs(math.Log(ratio)-bound) > 1e-9 {
				t.Errorf("at %g standard deviations the ratio is %g, want exp(%g)", x, ratio, bound)
			}
		}
	}
}
