package geom

import (
	"errors"
	"math"
)

// Spline returns a smooth curve through the points. start and end are the unit
// directions in which it leaves and arrives; the zero Point derives them from
// the points. It is the spline of J. D. Hobby, "Smooth, easy to compute
// interpolating splines" (Discrete & Computational Geometry 1, 1986), with one
// tension throughout and a curl of 1 at free ends.
func Spline(points []Point, start, end Point, tension float64) (Path, error) {
	n := len(points) - 1
	if n < 1 {
		return nil, errors.New("a curve needs at least two points")
	}
	d := make([]float64, n)   // chord lengths
	psi := make([]float64, n) // turns between chords; psi[0] unused
	for i := range n {
		d[i] = points[i].Dist(points[i+1])
		if !(d[i] > 1e-3) || math.IsInf(d[i], 1) {
			return nil, errors.New("two neighbouring points of the curve coincide")
		}
		if i > 0 {
			psi[i] = AngleBetween(points[i].Sub(points[i-1]), points[i+1].Sub(points[i]))
		}
	}
	if n == 1 && start == (Point{}) && end == (Point{}) {
		return Path{Line(points[0], points[1])}, nil
	}
	// Unknown theta[0..n], the turn of the leaving direction from the chord.
	// Tridiagonal: a theta[i-1] + b theta[i] + c theta[i+1] = r.
	a, b, c, r := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	t := 1 / tension
	if start != (Point{}) {
		b[0], r[0] = 1, AngleBetween(points[1].Sub(points[0]), start)
	} else {
		b[0], c[0] = 1, 1 // with one tension a curl of 1 says that theta[0] = phi[1]
		if n > 1 {
			r[0] = -psi[1]
		}
	}
	for i := 1; i < n; i++ {
		a[i] = 1 / d[i-1]
		b[i] = (3 - t) / t * (1/d[i-1] + 1/d[i])
		c[i] = 1 / d[i]
		r[i] = -psi[i] * (3 - t) / t / d[i-1]
		if i+1 < n {
			r[i] -= psi[i+1] / d[i]
		}
	}
	if end != (Point{}) {
		b[n], r[n] = 1, AngleBetween(points[n].Sub(points[n-1]), end)
	} else {
		a[n], b[n] = 1, 1 // theta[n-1] = phi[n] = -theta[n]
	}
	theta := solveTridiagonal(a, b, c, r)
	path := make(Path, n)
	for i := range n {
		chord := points[i+1].Sub(points[i])
		out := theta[i]
		in := -theta[i+1]
		if i+1 < n {
			in = -psi[i+1] - theta[i+1]
		}
		u := chord.Unit().Rotate(Point{}, out)
		v := chord.Unit().Rotate(Point{}, -in)
		path[i] = Cubic(points[i],
			points[i].Add(u.Mul(d[i]*velocity(out, in)/(3*tension))),
			points[i+1].Sub(v.Mul(d[i]*velocity(in, out)/(3*tension))),
			points[i+1])
	}
	return path, nil
}

// velocity returns the length of a handle in thirds of the chord: Hobby's
// formula, limited to 4 as in his paper.
func velocity(theta, phi float64) float64 {
	st, ct := math.Sincos(theta)
	sp, cp := math.Sincos(phi)
	alpha := math.Sqrt2 * (st - sp/16) * (sp - st/16) * (ct - cp)
	return min(4, max(0, (2+alpha)/(1+(math.Sqrt(5)-1)/2*ct+(3-math.Sqrt(5))/2*cp)))
}

func solveTridiagonal(a, b, c, r []float64) []float64 {
	n := len(b)
	cp, rp := make([]float64, n), make([]float64, n)
	cp[0], rp[0] = c[0]/b[0], r[0]/b[0]
	for i := 1; i < n; i++ {
		m := b[i] - a[i]*cp[i-1]
		cp[i], rp[i] = c[i]/m, (r[i]-a[i]*rp[i-1])/m
	}
	for i := n - 2; i >= 0; i-- {
		rp[i] -= cp[i] * rp[i+1]
	}
	return rp
}

// Arc returns part of a circle, between two directions from its centre
// (radians), as cubics that stray from it by less than 3e-4 of the radius: the
// usual handles of 4/3 tan(angle/4), at most an eighth of a circle each.
func Arc(centre Point, radius, from, to float64) Path {
	n := max(1, int(math.Ceil(math.Abs(to-from)/(math.Pi/4)-1e-9)))
	step := (to - from) / float64(n)
	k := 4.0 / 3 * math.Tan(step/4) * radius
	path := make(Path, n)
	at := func(angle float64) Point { return centre.Add(Polar(radius, angle)) }
	for i := range n {
		a, b := from+float64(i)*step, from+float64(i+1)*step
		path[i] = Cubic(at(a), at(a).Add(Polar(k, a+math.Pi/2)), at(b).Sub(Polar(k, b+math.Pi/2)), at(b))
		if i > 0 {
			path[i].P0 = path[i-1].P3
		}
	}
	return path
}
