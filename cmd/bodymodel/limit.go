package main

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// bestTest tells where the limit of the data lies: the share of slips that the
// best test of each number by itself asks about, when it asks about no more
// than a share of the sets without one. A slip is given as how many times the
// number's own spread it is, up or down alike.
//
// It is the likelihood ratio test (Neyman and Pearson's lemma) with one bound
// for all numbers, for bodies whose numbers, the others known, are normally
// distributed with just these spreads. Real ones are so only in the middle,
// and the check has to learn the spreads; so it stays below.
func bestTest(slips []float64, falseAlarms float64) []float64 {
	found := make([]float64, len(slips))
	// The bound that leaves so many false alarms, found by halving its logarithm.
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

// deviation is how many spreads off a number is when it is exp(bound) times as
// likely by a slip of d spreads, up or down, as without: the ratio of the
// densities is exp(-d²/2) cosh(d t).
func deviation(bound, d float64) float64 {
	x := bound + d*d/2 // logarithm of cosh(d t)
	if x <= 0 {
		return 0
	}
	return (x + math.Log1p(math.Sqrt(-math.Expm1(-2*x)))) / d
}
