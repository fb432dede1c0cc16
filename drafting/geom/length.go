package geom

import "math"

// stretch is a part of a cubic by its velocity, m+ax+bx² for x from -1 to 1.
type stretch struct{ m, a, b Point }

// stretch returns the part between two parameters.
func (s *Segment) stretch(t0, t1 float64) stretch {
	d0, d1, d2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	e0, e1 := d1.Sub(d0), d2.Sub(d1)
	h, t := (t1-t0)/2, (t0+t1)/2
	return stretch{
		m: d0.Lerp(d1, t).Lerp(d1.Lerp(d2, t), t).Mul(3 * h),
		a: e0.Lerp(e1, t).Mul(6 * h * h),
		b: e1.Sub(e0).Mul(3 * h * h * h),
	}
}

// half returns the first half (side -1) or the second (1).
func (v *stretch) half(side float64) stretch {
	return stretch{
		m: v.m.Add(v.a.Mul(side / 2)).Add(v.b.Mul(0.25)).Mul(0.5),
		a: v.a.Mul(0.25).Add(v.b.Mul(side * 0.25)),
		b: v.b.Mul(0.125),
	}
}

// bound returns a length that the stretch does not exceed.
func (v *stretch) bound() float64 { return 2 * (v.m.Norm() + v.a.Norm() + v.b.Norm()) }

// pair holds two nodes ±x of a Gauss-Legendre rule on [-1, 1] and their weight.
type pair struct{ x, weight float64 }

// The rules of four and of eight points (Abramowitz and Stegun, Handbook of
// Mathematical Functions, table 25.4), with how far from 0 the speed must have no
// zero in the complex plane for a relative error below LengthTol.
//
// Let reach be the longer half axis of the ellipse with foci ±1 whose half axes
// add up to ρ, and |a|·reach+|b|·reach² ≤ 0.9·|m|. Then the speed is analytic in
// the ellipse and at most 1.9·|m|, so its Chebyshev coefficients are at most
// 3.8·|m|/ρᵏ (Trefethen, Approximation Theory and Approximation Practice, theorem
// 8.1). A rule of n points integrates those below 2n exactly, odd ones too, and
// errs by at most 32/15 on the others. The length is at least 2·|m|·(1−0.9/reach).
// So the relative error is at most 4.06·ρ⁻²ⁿ/(1−ρ⁻²)/(1−0.9/reach).
const reach4, reach8 = 4.7, 1.74

var (
	rule4 = [...]pair{{0.3399810435848563, 0.6521451548625461},
		{0.8611363115940526, 0.3478548451374538}}
	rule8 = [...]pair{{0.1834346424956498, 0.3626837833783620},
		{0.5255324099163290, 0.3137066458778873},
		{0.7966664774136267, 0.2223810344533745},
		{0.9602898564975363, 0.1012285362903763}}
)

// sum integrates the speed by a rule.
func (v *stretch) sum(rule []pair) float64 {
	sum := 0.0
	for _, r := range rule {
		// At ±x the velocity is p±q.
		p, q := v.m.Add(v.b.Mul(r.x*r.x)), v.a.Mul(r.x)
		sum += r.weight * (p.Add(q).Norm() + p.Sub(q).Norm())
	}
	return sum
}

// length returns the length of the stretch. It halves the stretch until a rule is
// good enough, or it is no longer than noise: near a standstill no rule is.
func (v *stretch) length(noise float64) float64 {
	m, a, b := 0.9*v.m.Norm(), v.a.Norm(), v.b.Norm()
	switch {
	case a*reach4+b*reach4*reach4 <= m:
		return v.sum(rule4[:])
	case a*reach8+b*reach8*reach8 <= m || !(v.bound() > noise): // NaN ends here too
		return v.sum(rule8[:])
	}
	first, second := v.half(-1), v.half(1)
	return first.length(noise) + second.length(noise)
}

// lengthBetween returns the arc length between two parameters, negative from a
// larger to a smaller.
func (s *Segment) lengthBetween(t0, t1 float64) float64 {
	v := s.stretch(t0, t1)
	// The length is at least a tenth of the bound, and a velocity has at most two
	// zeros, with a few stretches below the noise beside each.
	return math.Copysign(v.length(LengthTol/1000*v.bound()), t1-t0)
}

// Length returns the arc length, to a relative error of LengthTol.
func (s Segment) Length() float64 { return s.LengthTo(1) }

// LengthTo returns the arc length from the start to parameter t.
func (s Segment) LengthTo(t float64) float64 {
	switch {
	case s.Straight:
		return t * s.P0.Dist(s.P3)
	case t <= 0:
		return 0
	}
	return s.lengthBetween(0, t)
}

// ParamAt returns the parameter at d mm along the segment; d outside the segment
// gives its nearer end.
func (s Segment) ParamAt(d float64) float64 { return s.paramAt(d, s.Length()) }

// paramAt is ParamAt with the length of the segment known.
func (s *Segment) paramAt(d, total float64) float64 {
	switch {
	case !(d > 0) || !(total > 0):
		return 0
	case d >= total:
		return 1
	case s.Straight:
		return d / total
	}
	// Newton's method on the length, inside a bracket that shrinks.
	lo, hi, t := 0.0, 1.0, d/total
	f := s.lengthBetween(0, t) - d
	for range 60 {
		if math.Abs(f) <= LengthTol*total {
			return t
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		next := t - f/s.Deriv(t).Norm()
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		f += s.lengthBetween(t, next)
		t = next
	}
	return t
}
