package geom

import "math"

// roots holds the roots of one low polynomial without allocating.
type roots struct {
	n int
	t [6]float64
}

// add adds t unless it repeats the root before.
func (r *roots) add(t float64) {
	if r.n < len(r.t) && (r.n == 0 || t > r.t[r.n-1]) {
		r.t[r.n] = t
		r.n++
	}
}

// bernstein3 returns the value at t of the cubic with Bernstein coefficients c.
func bernstein3(c *[4]float64, t float64) float64 {
	u := 1 - t
	return u*u*u*c[0] + 3*u*u*t*c[1] + 3*u*t*t*c[2] + t*t*t*c[3]
}

// cubicRoots returns the parameters in [0, 1], in ascending order, at which the
// cubic with Bernstein coefficients c is zero: every change of sign, and the ends
// and turning points within tol of zero.
func cubicRoots(c [4]float64, tol float64) roots {
	var r roots
	m := monotone(&c)
	for i := range m.n {
		switch v0, v1 := m.v[i], m.v[i+1]; {
		case math.Abs(v0) <= tol:
			r.add(m.t[i])
		case math.Abs(v1) > tol && (v0 < 0) != (v1 < 0):
			r.add(bracketedRoot(&c, m.t[i], m.t[i+1], v0))
		}
	}
	if math.Abs(c[3]) <= tol {
		r.add(1)
	}
	return r
}

// stages holds the n stretches in which a function rises or falls: the parameters
// and the values at their n+1 ends.
type stages struct {
	n    int
	t, v [4]float64
}

// monotone returns the stages of the cubic with Bernstein coefficients c.
func monotone(c *[4]float64) stages {
	turns := quadraticRoots(c[1]-c[0], c[2]-c[1], c[3]-c[2])
	s := stages{n: turns.n + 1}
	s.v[0] = c[0]
	for i, t := range turns.t[:turns.n] {
		s.t[i+1], s.v[i+1] = t, bernstein3(c, t)
	}
	s.t[s.n], s.v[s.n] = 1, c[3]
	return s
}

// bracketedRoot returns the root between lo and hi, where the cubic is monotone and
// has the value v at lo, by Newton's method inside a shrinking bracket.
func bracketedRoot(c *[4]float64, lo, hi, v float64) float64 {
	if v == 0 {
		return lo
	}
	rising := v < 0
	t := (lo + hi) / 2
	for range 60 {
		f := bernstein3(c, t)
		if f == 0 || hi-lo < 1e-15 {
			return t
		}
		if (f < 0) == rising {
			lo = t
		} else {
			hi = t
		}
		u := 1 - t
		slope := 3 * (u*u*(c[1]-c[0]) + 2*u*t*(c[2]-c[1]) + t*t*(c[3]-c[2]))
		next := t - f/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-t) < 1e-15 {
			return next
		}
		t = next
	}
	return t
}
