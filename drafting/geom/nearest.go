package geom

import "math"

// Nearest returns the point of the path nearest to q, its distance from q, and its
// distance along the path, both mm. On an empty path d is infinite.
func (p Path) Nearest(q Point) (at Point, d float64, along float64) {
	i, t, at, d := p.nearest(q)
	for _, s := range p[:max(i, 0)] {
		along += s.Length()
	}
	if i >= 0 {
		along += p[i].LengthTo(t)
	}
	return at, d, along
}

// nearest is Nearest with the position as a segment and a parameter; the index
// is -1 on an empty path.
func (p Path) nearest(q Point) (index int, t float64, at Point, d float64) {
	index, d = -1, math.Inf(1)
	for i := range p {
		s := &p[i]
		if s.hull().distTo(q) >= d && index >= 0 {
			continue
		}
		a, ta := s.nearest(q)
		if da := a.Dist(q); index < 0 || da < d {
			index, t, at, d = i, ta, a, da
		}
	}
	return index, t, at, d
}

// distTo returns the distance from q to the box, zero inside it.
func (b Box) distTo(q Point) float64 {
	dx := max(0, max(b.Min.X-q.X, q.X-b.Max.X))
	dy := max(0, max(b.Min.Y-q.Y, q.Y-b.Max.Y))
	return math.Sqrt(dx*dx + dy*dy)
}

// Nearest returns the point of the segment nearest to q and its parameter.
func (s Segment) Nearest(q Point) (at Point, t float64) { return s.nearest(q) }

// nearest is Nearest without copying the segment.
func (s *Segment) nearest(q Point) (Point, float64) {
	if s.Straight {
		v := s.P3.Sub(s.P0)
		n := v.Dot(v)
		if n == 0 {
			return s.P0, 0
		}
		t := clamp01(q.Sub(s.P0).Dot(v) / n)
		return s.At(t), t
	}
	b := nearestSearch{s: s, q: q, at: s.P0}
	b.d2 = b.dist2(s.P0)
	b.try(1)
	b.roots(s.squareSlope(q), 0, 1, 0)
	return b.at, b.t
}

// squareSlope returns the Bernstein coefficients of (B(t)-q)·B'(t)/3, a third of
// the slope of half the squared distance, which has degree five.
func (s *Segment) squareSlope(q Point) [6]float64 {
	c := [4]Point{s.P0.Sub(q), s.P1.Sub(q), s.P2.Sub(q), s.P3.Sub(q)}
	d := [3]Point{s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)}
	return [6]float64{
		c[0].Dot(d[0]),
		(2*c[0].Dot(d[1]) + 3*c[1].Dot(d[0])) / 5,
		(c[0].Dot(d[2]) + 6*c[1].Dot(d[1]) + 3*c[2].Dot(d[0])) / 10,
		(3*c[1].Dot(d[2]) + 6*c[2].Dot(d[1]) + c[3].Dot(d[0])) / 10,
		(3*c[2].Dot(d[2]) + 2*c[3].Dot(d[1])) / 5,
		c[3].Dot(d[2]),
	}
}

// nearestSearch holds the nearest point found so far.
type nearestSearch struct {
	s  *Segment
	q  Point
	at Point
	t  float64
	d2 float64
}

// dist2 returns the squared distance from p to the point of the search.
func (b *nearestSearch) dist2(p Point) float64 {
	v := p.Sub(b.q)
	return v.Dot(v)
}

// try records the point at t if it is nearer than the others.
func (b *nearestSearch) try(t float64) {
	p := b.s.At(t)
	if d := b.dist2(p); d < b.d2 {
		b.at, b.t, b.d2 = p, t, d
	}
}

// roots tries every parameter in [lo, hi] where the distance changes from falling
// to rising; c is its slope. The number of sign changes of the coefficients
// limits the number of roots (Descartes' rule in Bernstein form).
func (b *nearestSearch) roots(c [6]float64, lo, hi float64, depth int) {
	changes := 0
	for i := 1; i < len(c); i++ {
		if (c[i-1] < 0) != (c[i] < 0) {
			changes++
		}
	}
	switch {
	case changes == 0:
		return
	case changes == 1:
		if c[0] < 0 { // falling, then rising: a minimum
			b.try(b.refine(lo, hi))
		}
		return
	case depth == 20:
		b.try((lo + hi) / 2)
		return
	}
	left, right := halveBernstein5(c)
	m := (lo + hi) / 2
	b.roots(left, lo, m, depth+1)
	b.roots(right, m, hi, depth+1)
}

// refine returns the only root between lo and hi.
func (b *nearestSearch) refine(lo, hi float64) float64 {
	t := (lo + hi) / 2
	for range 60 {
		v, d := b.s.At(t).Sub(b.q), b.s.Deriv(t)
		f := v.Dot(d)
		if f < 0 {
			lo = t
		} else {
			hi = t
		}
		next := t - f/(d.Dot(d)+v.Dot(b.s.Second(t)))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-t) <= 1e-14 {
			return next
		}
		t = next
	}
	return t
}

// halveBernstein5 halves a quintic by de Casteljau's algorithm.
func halveBernstein5(c [6]float64) (left, right [6]float64) {
	for k := range 6 {
		left[k] = c[0]
		right[5-k] = c[5-k]
		for i := 0; i < 5-k; i++ {
			c[i] = (c[i] + c[i+1]) / 2
		}
	}
	return left, right
}
