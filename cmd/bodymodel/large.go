package main

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tapeline/drafting/body"
)

// The survey ends at a bust of 127 cm, but sizes are made to 152 and beyond.
// Women larger than the survey's are a group of their own: the survey's women
// extrapolated along the sizes of EN 13402-3, with a wide spread in that
// direction, so that nobody is asked about for being large. The other
// measurements of a size follow the survey's regressions. So far from the data
// that is a guess, hence the wider spread of all measurements.

// largeSizes has bust, waist and hip of EN 13402-3 (from memory; recollections of
// the waists differ) at the start, the middle and the end of the range.
var largeSizes = [3][3]float64{{1100, 940, 1170}, {1340, 1180, 1370}, {1520, 1360, 1520}}

const (
	largeSpread = 1.3  // of the survey's covariance
	girthSpread = 0.04 // of the logarithm, added to bust, waist and hip
	rangeSpread = 0.75 // along the range of sizes, as a share of half its length
)

// large returns the moments of women larger than the survey's.
func (m moments) large(names []body.Name) moments {
	var at [3]body.Measures
	for i, size := range largeSizes {
		at[i] = m.expect(names, body.Measures{
			body.BustGirth: size[0], body.WaistGirth: size[1], body.HipGirth: size[2],
			body.Height: math.Exp(m.mean[indexOf(names, body.Height)]), // large women are no taller
		})
	}
	n := len(names)
	out := moments{people: m.people, mean: make([]float64, n), covariance: mat.NewSymDense(n, nil)}
	direction := make([]float64, n)
	for i, name := range names {
		out.mean[i] = math.Log(at[1][name])
		direction[i] = rangeSpread * math.Log(at[2][name]/at[0][name]) / 2
	}
	for i := range n {
		for j := range i + 1 {
			out.covariance.SetSym(i, j, largeSpread*m.covariance.At(i, j)+direction[i]*direction[j])
		}
	}
	for _, name := range [...]body.Name{body.BustGirth, body.WaistGirth, body.HipGirth} {
		i := indexOf(names, name)
		out.covariance.SetSym(i, i, out.covariance.At(i, i)+girthSpread*girthSpread)
	}
	return out
}
