package pattern

import (
	"errors"
	"math"

	"tapeline/drafting/geom"
)

// Through is a smooth curve through the points. start and end are the unit
// directions in which it leaves and arrives; the zero Point leaves them to the
// points. It is the spline of J. D. Hobby, "Smooth, easy to compute
// interpolating splines" (Discrete & Computational Geometry 1, 1986), with one
// tension throughout and a curl of 1 at free ends.
func Through(points []geom.Point, start, end geom.Point, tension float64) (geom.Path, error) {
	n := len(points) - 1
	if n < 1 {
		return nil, errors.New("a curve needs two points or more")
	}
	d := make([]float64, n)   // chord lengths
	psi := make([]float64, n) // turns between chords; psi[0] unused
	for i := range n {
		d[i] = points[i].Dist(points[i+1])
		if !(d[i] > 1e-3) || !(d[i] < maxReach) {
			return nil, errors.New("two neighbouring points of the curve are the same")
		}
		if i > 0 {
			psi[i] = geom.AngleBetween(points[i].Sub(points[i-1]), points[i+1].Sub(points[i]))
		}
	}
	if n == 1 && start == (geom.Point{}) && end == (geom.Point{}) {
		return geom.Path{geom.Line(points[0], points[1])}, nil
	}
	// Unknown theta[0..n], the turn of the leaving direction from the chord.
	// Tridiagonal: a theta[i-1] + b theta[i] + c theta[i+1] = r.
	a, b, c, r := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	t := 1 / tension
	if start != (geom.Point{}) {
		b[0], r[0] = 1, geom.AngleBetween(points[1].Sub(points[0]), start)
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
	if end != (geom.Point{}) {
		b[n], r[n] = 1, geom.AngleBetween(points[n].Sub(points[n-1]), end)
	} else {
		a[n], b[n] = 1, 1 // theta[n-1] = phi[n] = -theta[n]
	}
	theta := solveTridiagonal(a, b, c, r)
	path := make(geom.Path, n)
	for i := range n {
		chord := points[i+1].Sub(points[i])
		out := theta[i]
		in := -theta[i+1]
		if i+1 < n {
			in = -psi[i+1] - theta[i+1]
		}
		u := chord.Unit().Rotate(geom.Point{}, out)
		v := chord.Unit().Rotate(geom.Point{}, -in)
		path[i] = geom.Cubic(points[i],
			points[i].Add(u.Mul(d[i]*velocity(out, in)/(3*tension))),
			points[i+1].Sub(v.Mul(d[i]*velocity(in, out)/(3*tension))),
			points[i+1])
	}
	return path, nil
}

// velocity is how far a handle reaches, in thirds of the chord: Hobby's
// formula, held to at most 4 as he does.
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

// Arc is part of a circle, from one direction of its centre to another, as
// cubics that stray from it by less than 3e-4 of the radius: the usual handles
// of 4/3 tan(angle/4), at most a quarter circle each.
func Arc(centre geom.Point, radius, from, to float64) geom.Path {
	n := max(1, int(math.Ceil(math.Abs(to-from)/(math.Pi/4)-1e-9)))
	step := (to - from) / float64(n)
	k := 4.0 / 3 * math.Tan(step/4) * radius
	path := make(geom.Path, n)
	at := func(angle float64) geom.Point { return centre.Add(geom.Polar(radius, angle)) }
	for i := range n {
		a, b := from+float64(i)*step, from+float64(i+1)*step
		path[i] = geom.Cubic(at(a), at(a).Add(geom.Polar(k, a+math.Pi/2)), at(b).Sub(geom.Polar(k, b+math.Pi/2)), at(b))
		if i > 0 {
			path[i].P0 = path[i-1].P3
		}
	}
	return path
}

// Scale is the path made larger or smaller about a point.
func Scale(path geom.Path, about geom.Point, k float64) geom.Path {
	apply := func(q geom.Point) geom.Point { return about.Add(q.Sub(about).Mul(k)) }
	out := make(geom.Path, len(path))
	for i, s := range path {
		if s.Straight {
			out[i] = geom.Line(apply(s.P0), apply(s.P3))
		} else {
			out[i] = geom.Cubic(apply(s.P0), apply(s.P1), apply(s.P2), apply(s.P3))
		}
	}
	return out
}

// WidthAt is how wide the piece is at height y, the darts there taken out.
func (p Piece) WidthAt(y float64) float64 {
	outline := p.Outline()
	box := outline.Bounds()
	if y < box.Min.Y-nearBreak || y > box.Max.Y+nearBreak {
		return 0
	}
	y = max(box.Min.Y+nearBreak, min(box.Max.Y-nearBreak, y)) // an edge along the line is no width
	across := geom.Path{geom.Line(geom.Pt(box.Min.X-1, y), geom.Pt(box.Max.X+1, y))}
	var sum float64
	for _, part := range clipped(across, outline) {
		sum += part.Length()
	}
	for _, d := range p.Darts {
		a, b := across.Crossings(d.Legs[0]), across.Crossings(d.Legs[1])
		if len(a) > 0 && len(b) > 0 {
			sum -= abs(a[0].At.X - b[0].At.X)
		}
	}
	return sum
}
