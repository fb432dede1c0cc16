package geom

import "math"

// Nodes and weights of Gauss-Legendre quadrature with eight points on [-1, 1]
// (Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4).
var (
	glNodes   = [4]float64{0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363}
	glWeights = [4]float64{0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763}
)

// speedSum integrates |B'| from t0 to t1 with one eight-point rule.
func (s *Segment) speedSum(t0, t1 float64) float64 {
	h, m := (t1-t0)/2, (t0+t1)/2
	var sum float64
	for i, x := range glNodes {
		a, b := s.Deriv(m-h*x), s.Deriv(m+h*x)
		sum += glWeights[i] * (math.Sqrt(a.X*a.X+a.Y*a.Y) + math.Sqrt(b.X*b.X+b.Y*b.Y))
	}
	return h * sum
}

// lengthBetween returns the arc length between two parameters. It halves the
// stretch until the sum of one rule and that of two agree.
func (s *Segment) lengthBetween(t0, t1, whole, tol float64, depth int) float64 {
	m := (t0 + t1) / 2
	a, b := s.speedSum(t0, m), s.speedSum(m, t1)
	if depth == 0 || !(math.Abs(a+b-whole) > tol) { // NaN ends here too
		return a + b
	}
	return s.lengthBetween(t0, m, a, tol/2, depth-1) + s.lengthBetween(m, t1, b, tol/2, depth-1)
}

// Length returns the arc length, to a relative error of LengthTol.
func (s Segment) Length() float64 { return s.LengthTo(1) }

// LengthTo returns the arc length from the start to parameter t.
func (s Segment) LengthTo(t float64) float64 {
	if s.Straight {
		return t * s.P0.Dist(s.P3)
	}
	if t <= 0 {
		return 0
	}
	// The rule can miss the kink of the speed near a standstill: the sum stops and
	// starts again there.
	legs := s.P0.Dist(s.P1) + s.P1.Dist(s.P2) + s.P2.Dist(s.P3)
	noise := 1e-14*legs + 1e-12
	var sum float64
	from := 0.0
	slow := s.standstills()
	for _, to := range slow.t[:slow.n] {
		if to >= t {
			break
		}
		sum += s.lengthFrom(from, to, noise)
		from = to
	}
	return sum + s.lengthFrom(from, t, noise)
}

// lengthFrom returns the arc length between two parameters. It works to a
// sixteenth of the tolerance, since one rule and two may agree by chance, but not
// below the noise.
func (s *Segment) lengthFrom(t0, t1, noise float64) float64 {
	whole := s.speedSum(t0, t1)
	return s.lengthBetween(t0, t1, whole, LengthTol/16*whole+noise, 24)
}

// standstills returns the parameters where the speed is lowest, if it may fall
// below a twentieth of its maximum.
func (s *Segment) standstills() roots {
	d0, d1, d2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	u := s.P3.Sub(s.P0)
	// The speed along u is nowhere lower than at the handles.
	low, high := min(d0.Dot(u), d1.Dot(u), d2.Dot(u)), max(d0.Dot(d0), d1.Dot(d1), d2.Dot(d2))
	if low > 0 && 400*low*low > u.Dot(u)*high {
		return roots{}
	}
	// Half the slope of the squared speed, B'·B”, a cubic.
	e0, e1 := d1.Sub(d0), d2.Sub(d1)
	return cubicRoots([4]float64{
		d0.Dot(e0), (2*d1.Dot(e0) + d0.Dot(e1)) / 3, (2*d1.Dot(e1) + d2.Dot(e0)) / 3, d2.Dot(e1),
	}, 0)
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
	for range 60 {
		f := s.LengthTo(t) - d
		if math.Abs(f) <= LengthTol*total {
			return t
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		if speed := s.Deriv(t).Norm(); speed > 0 {
			t -= f / speed
		}
		if t <= lo || t >= hi {
			t = (lo + hi) / 2
		}
	}
	return t
}
