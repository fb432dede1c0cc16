// Package geomtest measures curves for tests.
package geomtest

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// InflectionTurn is the smallest turn in radians (one degree) that Inflections
// counts as a bend.
const InflectionTurn = math.Pi / 180

// Inflections returns how often a path changes from bending one way to bending
// the other. It ignores bends that turn by less than InflectionTurn. The turn at
// a join is part of the bend.
func Inflections(p geom.Path) int {
	var w wobble
	for i, s := range p {
		if i > 0 {
			w.turn(geom.AngleBetween(p[i-1].Tangent(1), s.Tangent(0)))
		}
		if !s.Straight {
			w.follow(s)
		}
	}
	return w.changes
}

// wobble follows the direction of a path and counts how often it swings back by
// InflectionTurn or more.
type wobble struct {
	changes  int
	sense    float64 // of the present bend; zero before the first
	now      float64 // direction relative to the start
	min, max float64 // directions reached in the present bend
}

func (w *wobble) turn(angle float64) {
	w.now += angle
	w.min, w.max = min(w.min, w.now), max(w.max, w.now)
	switch {
	case w.sense <= 0 && w.now-w.min >= InflectionTurn:
		w.swing(1)
	case w.sense >= 0 && w.max-w.now >= InflectionTurn:
		w.swing(-1)
	}
}

func (w *wobble) swing(sense float64) {
	if w.sense != 0 {
		w.changes++
	}
	w.sense, w.min, w.max = sense, w.now, w.now
}

// follow turns along a cubic, in small steps between its points of inflection.
func (w *wobble) follow(s geom.Segment) {
	const steps = 8
	t0 := 0.0
	for _, t1 := range append(inflections(s), 1) {
		before := s.Tangent(t0)
		for k := 1; k <= steps; k++ {
			after := s.Tangent(t0 + (t1-t0)*float64(k)/steps)
			w.turn(geom.AngleBetween(before, after))
			before = after
		}
		t0 = t1
	}
}

// inflections returns the parameters in (0, 1), in ascending order, where the
// curvature of a cubic changes sign: the roots of the quadratic B'×B”.
func inflections(s geom.Segment) []float64 {
	d0, d1, d2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	a, b, c := d0.Cross(d1), d0.Cross(d2)/2, d1.Cross(d2) // Bernstein coefficients
	qa, qb, qc := a-2*b+c, 2*(b-a), a
	var roots []float64
	if root := math.Sqrt(qb*qb - 4*qa*qc); math.Abs(qa) > 1e-12*(math.Abs(a)+math.Abs(b)+math.Abs(c)) {
		roots = []float64{(-qb - root) / (2 * qa), (-qb + root) / (2 * qa)}
	} else {
		roots = []float64{-qc / qb}
	}
	roots = slices.DeleteFunc(roots, func(t float64) bool { return !(t > 0 && t < 1) })
	slices.Sort(roots)
	return roots
}
