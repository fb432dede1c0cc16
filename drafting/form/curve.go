package form

import (
	"math"
	"slices"
)

// A curve is a function through points that does not swing between them: a
// monotone piecewise cubic (Fritsch and Carlson 1980).
type curve struct{ x, y []float64 }

func (c curve) at(x float64) float64 {
	n := len(c.x)
	switch {
	case x <= c.x[0]:
		return c.y[0]
	case x >= c.x[n-1]:
		return c.y[n-1]
	}
	i := 0
	for c.x[i+1] < x {
		i++
	}
	h := c.x[i+1] - c.x[i]
	t := (x - c.x[i]) / h
	return (1+2*t)*(1-t)*(1-t)*c.y[i] + t*(1-t)*(1-t)*h*c.slope(i) + t*t*(3-2*t)*c.y[i+1] - t*t*(1-t)*h*c.slope(i+1)
}

// slope returns the slope at point i: the harmonic mean of both sides' slopes.
func (c curve) slope(i int) float64 {
	if i == 0 || i == len(c.x)-1 {
		return 0
	}
	before := (c.y[i] - c.y[i-1]) / (c.x[i] - c.x[i-1])
	after := (c.y[i+1] - c.y[i]) / (c.x[i+1] - c.x[i])
	if before*after <= 0 {
		return 0
	}
	return 2 * before * after / (before + after)
}

// merge returns the numbers of both lists in order, each once.
func merge(a, b []float64) []float64 {
	all := append(slices.Clone(a), b...)
	slices.Sort(all)
	return slices.CompactFunc(all, func(a, b float64) bool { return math.Abs(a-b) < 1e-3 })
}
