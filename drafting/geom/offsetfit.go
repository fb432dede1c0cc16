package geom

import "math"

// addStroke adds the parallel of one source segment: cubics fitted to its sound
// stretches, and waste on the inside of a bend tighter than d.
func (o *parallel) addStroke(s *Segment) {
	if s.Straight {
		v := s.Tangent(0).Left().Mul(o.d)
		o.add(Line(s.P0.Add(v), s.P3.Add(v)), false)
		return
	}
	cuts := o.turnings(s)
	t0 := 0.0
	for i := 0; i <= cuts.n; i++ {
		t1 := 1.0
		if i < cuts.n {
			t1 = cuts.t[i]
		}
		if o.stretch(s, (t0+t1)/2) > 0 {
			o.fit(s, t0, t1, 10)
		} else {
			o.add(Line(o.beside(s, t0), o.beside(s, t1)), true)
		}
		t0 = t1
	}
}

// beside returns the point of the exact parallel at parameter t of s.
func (o *parallel) beside(s *Segment, t float64) Point {
	return s.At(t).Add(s.Tangent(t).Left().Mul(o.d))
}

// stretch returns the speed of the parallel relative to that of s at t:
// 1 + curvature × d. Below zero the parallel runs backwards.
func (o *parallel) stretch(s *Segment, t float64) float64 {
	d := s.Deriv(t)
	n := d.Norm()
	k := d.Cross(s.Second(t)) / (n * n * n)
	if math.IsNaN(k) {
		return 1 // at a standstill; the parameters beside it decide
	}
	return 1 + k*o.d
}

// turnings returns the parameters at which the parallel of s turns back.
func (o *parallel) turnings(s *Segment) roots {
	const steps = 32
	var r roots
	d0, d1, d2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	if d0.Cross(d1)*o.d >= 0 && d0.Cross(d2)*o.d >= 0 && d1.Cross(d2)*o.d >= 0 {
		return r // s bends away everywhere
	}
	g := func(t float64) float64 { return o.stretch(s, t) }
	t0, g0 := 0.0, g(1e-9)
	before := g0
	for k := 1; k <= steps; k++ {
		t1 := float64(k) / steps
		g1 := g(min(t1, 1-1e-9))
		switch {
		case (g0 < 0) != (g1 < 0):
			r.add(signChange(g, t0, t1))
		case g0 > 0 && g0 <= before && g0 <= g1 && g0 < 1:
			// A minimum between samples may lie below zero.
			lo, hi := max(0, t0-1.0/steps), t1
			if m := lowest(g, lo, hi); g(m) < 0 {
				r.add(signChange(g, lo, m))
				r.add(signChange(g, m, hi))
			}
		}
		before = g0
		t0, g0 = t1, g1
	}
	return r
}

// signChange returns the point in [lo, hi] where g changes sign, by bisection.
func signChange(g func(float64) float64, lo, hi float64) float64 {
	below := g(lo) < 0
	for range 50 {
		m := (lo + hi) / 2
		if (g(m) < 0) == below {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// lowest returns the point in [lo, hi] where g has its minimum, by golden section.
func lowest(g func(float64) float64, lo, hi float64) float64 {
	const r = 0.6180339887498949
	a, b := hi-r*(hi-lo), lo+r*(hi-lo)
	ga, gb := g(a), g(b)
	for range 30 {
		if ga < gb {
			hi, b, gb = b, a, ga
			a = hi - r*(hi-lo)
			ga = g(a)
		} else {
			lo, a, ga = a, b, gb
			b = lo + r*(hi-lo)
			gb = g(b)
		}
	}
	return (lo + hi) / 2
}

// fit adds cubics for the parallel of s between t0 and t1. It halves the stretch
// until each keeps its distance.
func (o *parallel) fit(s *Segment, t0, t1 float64, depth int) {
	c, ok := o.cubic(s, t0, t1)
	if depth == 0 || ok && o.keeps(s, &c, t0, t1) {
		o.add(c, false)
		return
	}
	m := (t0 + t1) / 2
	o.fit(s, t0, m, depth-1)
	o.fit(s, m, t1, depth-1)
}

// cubic fits one cubic to the parallel: its ends and end directions are exact,
// the lengths of its handles come from least squares (Schneider, An algorithm for
// automatically fitting digitized curves, Graphics Gems, 1990).
func (o *parallel) cubic(s *Segment, t0, t1 float64) (Segment, bool) {
	const n = 6
	p, q := o.beside(s, t0), o.beside(s, t1)
	u, v := s.Tangent(t0), s.Tangent(t1).Neg()
	var at [n - 1]Point
	var w [n - 1]float64 // the parameters at which the fit passes them, at first those of s
	total := 0.0
	before := p
	for k := range at {
		w[k] = float64(k+1) / n
		at[k] = o.beside(s, t0+(t1-t0)*w[k])
		total += at[k].Dist(before)
		before = at[k]
	}
	total += q.Dist(before)
	if !(total > 0) {
		return Line(p, q), true
	}
	c := Cubic(p, p.Lerp(q, 1.0/3), p.Lerp(q, 2.0/3), q)
	for range 3 {
		var a11, a12, a22, x1, x2 float64
		for k, g := range at {
			t, r := w[k], 1-w[k]
			b1, b2 := 3*r*r*t, 3*r*t*t
			rest := g.Sub(p.Mul(r*r*r + b1)).Sub(q.Mul(b2 + t*t*t))
			a11 += b1 * b1
			a12 += b1 * b2 * u.Dot(v)
			a22 += b2 * b2
			x1 += b1 * rest.Dot(u)
			x2 += b2 * rest.Dot(v)
		}
		det := a11*a22 - a12*a12
		h, k := (x1*a22-x2*a12)/det, (a11*x2-a12*x1)/det
		if !(h >= 0 && k >= 0 && h < 2*total && k < 2*total) {
			return c, false
		}
		c.P1, c.P2 = p.Add(u.Mul(h)), q.Add(v.Mul(k))
		for k, g := range at { // move each parameter to the nearest point of the fit
			e, d := c.At(w[k]).Sub(g), c.Deriv(w[k])
			if step := e.Dot(d) / (d.Dot(d) + e.Dot(c.Second(w[k]))); math.Abs(step) < 0.1 {
				w[k] = clamp01(w[k] - step)
			}
		}
	}
	return c, true
}

// keeps reports whether the fit keeps its distance: at points all along it, the
// distance to s must be |d| within seven tenths of the tolerance (the rest is for
// the joins and for the stretches between the points).
func (o *parallel) keeps(s *Segment, c *Segment, t0, t1 float64) bool {
	const n = 9
	for k := range n {
		w := (float64(k) + 0.5) / n
		q := c.At(w)
		t := t0 + (t1-t0)*w
		for range 4 {
			e, d := s.At(t).Sub(q), s.Deriv(t)
			step := e.Dot(d) / (d.Dot(d) + e.Dot(s.Second(t)))
			if !(math.Abs(step) < 0.25) {
				break
			}
			t = max(t0, min(t1, t-step))
		}
		if !(math.Abs(s.At(t).Dist(q)-math.Abs(o.d)) <= 0.7*o.tol) {
			return false
		}
	}
	return true
}
