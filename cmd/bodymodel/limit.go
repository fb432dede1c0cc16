package main

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// bestTest returns the share of each slip that the best test would find at a
// share of false alarms. A slip is given in standard deviations of its number, up
// or down with equal probability.
//
// The test is the likelihood ratio test (Neyman and Pearson's lemma) with one
// bound for all numbers, on bodies whose numbers, given the others, are normally
// distributed with known spreads. Real numbers are normal only near the middle
// and the assessment must estimate the spreads, so it finds fewer.
func bestTest(slips []float64, falseAlarms float64) []float64 {
	found := make([]float64, len(slips))
	// Bisect for the logarithm of the bound that gives this share of false alarms.
	low, high := -50.0, 500.0
	for range 100 {
		bound := (low + high) / 2
		alarms := 0.0
		for i, d := range slips {
			t := deviation(bound, d)
			alarms += 2 * distuv.UnitNormal.Survival(t)
			found[i] = distuv.UnitNormal.Survival(t-d) + distuv.UnitNormal.CDF(-t-d)
		}
		if alarms > falseAlarms {
			low = bound
		} else {
			high = bound
		}
	}
	return found
}

// deviation returns how many standard deviations t from the mean a number is
// exp(bound) times as likely after a slip of d, up or down, as without one. The
// ratio of the densities is exp(-d²/2) cosh(d t).
func deviation(bound, d float64) float64 {
	x := bound + d*d/2 // logarithm of cosh(d t)
	if x <= 0 {
		return 0
	}
	return (x + math.Log1p(math.Sqrt(-math.Expm1(-2*x)))) / d
}
