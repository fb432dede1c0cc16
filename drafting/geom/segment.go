package geom

import "math"

// Segment is a straight line or a cubic Bézier from P0 to P3 with handles P1 and
// P2. A line has its handles at the thirds, so that code for cubics works for it
// too; formats that have lines write it as a line.
type Segment struct {
	P0, P1, P2, P3 Point
	Straight       bool
}

// Line returns the straight segment from a to b.
func Line(a, b Point) Segment {
	return Segment{a, a.Lerp(b, 1.0/3), a.Lerp(b, 2.0/3), b, true}
}

// Cubic returns the Bézier from p0 to p3 with handles p1 and p2.
func Cubic(p0, p1, p2, p3 Point) Segment { return Segment{P0: p0, P1: p1, P2: p2, P3: p3} }

// Start returns P0.
func (s Segment) Start() Point { return s.P0 }

// End returns P3.
func (s Segment) End() Point { return s.P3 }

// At returns the point at parameter t in [0, 1].
func (s Segment) At(t float64) Point {
	if s.Straight {
		if t == 1 { // exact at both ends
			return s.P3
		}
		return s.P0.Lerp(s.P3, t)
	}
	u := 1 - t
	a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	return Point{
		a*s.P0.X + b*s.P1.X + c*s.P2.X + d*s.P3.X,
		a*s.P0.Y + b*s.P1.Y + c*s.P2.Y + d*s.P3.Y,
	}
}

// Deriv returns the first derivative at t.
func (s Segment) Deriv(t float64) Point {
	if s.Straight {
		return s.P3.Sub(s.P0)
	}
	u := 1 - t
	a, b, c := 3*u*u, 6*u*t, 3*t*t
	return Point{
		a*(s.P1.X-s.P0.X) + b*(s.P2.X-s.P1.X) + c*(s.P3.X-s.P2.X),
		a*(s.P1.Y-s.P0.Y) + b*(s.P2.Y-s.P1.Y) + c*(s.P3.Y-s.P2.Y),
	}
}

// Second returns the second derivative at t.
func (s Segment) Second(t float64) Point {
	if s.Straight {
		return Point{}
	}
	p := s.P2.Sub(s.P1.Mul(2)).Add(s.P0).Mul(6 * (1 - t))
	q := s.P3.Sub(s.P2.Mul(2)).Add(s.P1).Mul(6 * t)
	return p.Add(q)
}

// Tangent returns the unit direction of travel at t. If a handle coincides with
// its end, the next handle that does not gives the direction.
func (s Segment) Tangent(t float64) Point {
	d := s.Deriv(t)
	scale := s.P1.Sub(s.P0).Norm() + s.P2.Sub(s.P1).Norm() + s.P3.Sub(s.P2).Norm()
	if d.Norm() > 1e-9*scale {
		return d.Unit()
	}
	if t < 0.5 {
		for _, p := range [...]Point{s.P2, s.P3} {
			if v := p.Sub(s.P0); v.Norm() > 1e-9*scale {
				return v.Unit()
			}
		}
	}
	for _, p := range [...]Point{s.P1, s.P0} {
		if v := s.P3.Sub(p); v.Norm() > 1e-9*scale {
			return v.Unit()
		}
	}
	return Point{}
}

// Split cuts the segment at t.
func (s Segment) Split(t float64) (Segment, Segment) {
	if s.Straight {
		m := s.At(t)
		return Line(s.P0, m), Line(m, s.P3)
	}
	ab, bc, cd := s.P0.Lerp(s.P1, t), s.P1.Lerp(s.P2, t), s.P2.Lerp(s.P3, t)
	abc, bcd := ab.Lerp(bc, t), bc.Lerp(cd, t)
	m := abc.Lerp(bcd, t)
	return Cubic(s.P0, ab, abc, m), Cubic(m, bcd, cd, s.P3)
}

// Part returns the part from parameter t0 to t1, t0 < t1.
func (s Segment) Part(t0, t1 float64) Segment {
	if t0 > 0 {
		_, s = s.Split(t0)
		t1 = (t1 - t0) / (1 - t0)
	}
	if t1 < 1 {
		s, _ = s.Split(t1)
	}
	return s
}

// Reverse returns the segment in the opposite direction.
func (s Segment) Reverse() Segment {
	if s.Straight { // the thirds computed again, so that it equals the stored line
		return Line(s.P3, s.P0)
	}
	return Cubic(s.P3, s.P2, s.P1, s.P0)
}

// Move returns the segment after m.
func (s Segment) Move(m Motion) Segment {
	if s.Straight {
		return Line(m.Apply(s.P0), m.Apply(s.P3))
	}
	return Cubic(m.Apply(s.P0), m.Apply(s.P1), m.Apply(s.P2), m.Apply(s.P3))
}

// Bounds returns the smallest upright box that holds the segment.
func (s Segment) Bounds() Box {
	b := BoxOf(s.P0, s.P3)
	if s.Straight {
		return b
	}
	for _, r := range extrema(s) {
		for _, t := range r.t[:r.n] {
			b = b.With(s.At(t))
		}
	}
	return b
}

// rootPair holds up to two roots without allocating.
type rootPair struct {
	n int
	t [2]float64
}

// extrema returns the parameters in (0, 1) where x and where y stands still.
func extrema(s Segment) [2]rootPair {
	return [2]rootPair{
		quadraticRoots(s.P1.X-s.P0.X, s.P2.X-s.P1.X, s.P3.X-s.P2.X),
		quadraticRoots(s.P1.Y-s.P0.Y, s.P2.Y-s.P1.Y, s.P3.Y-s.P2.Y),
	}
}

// quadraticRoots returns the roots in (0, 1), in ascending order, of the quadratic
// with Bernstein coefficients a, b, c.
func quadraticRoots(a, b, c float64) rootPair {
	var r rootPair
	add := func(t float64) {
		if t > 0 && t < 1 && r.n < 2 {
			r.t[r.n] = t
			r.n++
		}
	}
	qa, qb, qc := a-2*b+c, 2*(b-a), a
	if math.Abs(qa) < 1e-12*(math.Abs(a)+math.Abs(b)+math.Abs(c)) {
		if qb != 0 {
			add(-qc / qb)
		}
		return r
	}
	disc := qb*qb - 4*qa*qc
	if disc < 0 {
		return r
	}
	q := -0.5 * (qb + math.Copysign(math.Sqrt(disc), qb))
	add(q / qa)
	if q != 0 {
		add(qc / q)
	}
	if r.n == 2 && r.t[0] > r.t[1] {
		r.t[0], r.t[1] = r.t[1], r.t[0]
	}
	return r
}
