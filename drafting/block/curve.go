package block

import (
	"math"

	"tapeline/drafting/geom"
)

const degree = math.Pi / 180

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }

// arc returns a curve from p0, leaving along d0, to p3, arriving along d3, that
// bends one way only: its handles stop short of the point where the tangents
// meet. k0 and k3 are the handles' shares of the way to that point; if one side
// is much shorter its share grows, or the curve would have a corner there.
func arc(p0, d0, p3, d3 geom.Point, k0, k3 float64) geom.Segment {
	chord := p0.Dist(p3)
	_, s, back, ok := geom.MeetLines(p0, d0, p3, d3)
	t := -back
	if !ok || s <= 0.02*chord || s >= 2*chord || t <= 0.02*chord || t >= 2*chord {
		h := 0.36 * chord
		return geom.Cubic(p0, p0.Add(d0.Mul(h)), p3.Sub(d3.Mul(h)), p3)
	}
	q := s / (s + t)
	k0 += (0.95 - k0) * clamp((0.38-q)/0.25, 0, 1)
	k3 += (0.95 - k3) * clamp((q-0.62)/0.25, 0, 1)
	return geom.Cubic(p0, p0.Add(d0.Mul(k0*s)), p3.Sub(d3.Mul(k3*t)), p3)
}

// soft returns a curve between two directions with the handles of a circular
// arc of the same turn. At worst it bends gently the other way once; it never
// has a corner.
func soft(p0, d0, p3, d3 geom.Point) geom.Segment {
	chord := p0.Dist(p3)
	h := chord / 3
	if turn := math.Abs(geom.AngleBetween(d0, d3)); turn > 1e-6 {
		h = chord * 2 / 3 * math.Tan(turn/4) / math.Sin(turn/2)
	}
	return geom.Cubic(p0, p0.Add(d0.Mul(h)), p3.Sub(d3.Mul(h)), p3)
}

// down returns the unit direction at an angle from straight down, outward
// positive.
func down(angle float64) geom.Point { return geom.Pt(math.Sin(angle), math.Cos(angle)) }

// fromDown returns the angle of v from straight down, outward positive.
func fromDown(v geom.Point) float64 { return math.Atan2(v.X, v.Y) }

// root returns the zero of f between lo and hi within tol, by false position
// with the Illinois rule (Dowell and Jarratt, BIT 11, 1971). ok is false if f
// has the same sign at both ends.
func root(lo, hi, tol float64, f func(float64) float64) (x float64, ok bool) {
	flo, fhi := f(lo), f(hi)
	if flo == 0 {
		return lo, true
	}
	if fhi == 0 {
		return hi, true
	}
	if !(flo*fhi < 0) {
		return 0, false
	}
	side := 0
	for i := range 200 {
		x = (lo*fhi - hi*flo) / (fhi - flo)
		if i%4 == 3 || !(x > math.Min(lo, hi) && x < math.Max(lo, hi)) {
			x = (lo + hi) / 2
		}
		fx := f(x)
		if fx == 0 || math.Abs(hi-lo) < tol {
			return x, true
		}
		if fx*fhi > 0 {
			hi, fhi = x, fx
			if side == -1 {
				flo /= 2
			}
			side = -1
		} else {
			lo, flo = x, fx
			if side == 1 {
				fhi /= 2
			}
			side = 1
		}
		if math.Abs(fx) < tol*1e-3 {
			return x, true
		}
	}
	return x, true
}

// crossY returns the parameter at which a segment that runs down the paper
// passes the level y, or that of its nearer end.
func crossY(s geom.Segment, y float64) float64 {
	if y <= s.P0.Y {
		return 0
	}
	if y >= s.P3.Y {
		return 1
	}
	t, ok := root(0, 1, 1e-12, func(t float64) float64 { return s.At(t).Y - y })
	if !ok {
		return 0
	}
	return t
}
