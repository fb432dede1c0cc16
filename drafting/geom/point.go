package geom

import "math"

// Point is a point in the plane, or the vector from one point to another, in mm.
type Point struct{ X, Y float64 }

// Pt returns Point{x, y}.
func Pt(x, y float64) Point { return Point{x, y} }

// Polar returns the vector of length r in direction angle (0 is +x, clockwise).
func Polar(r, angle float64) Point {
	s, c := math.Sincos(angle)
	return Point{r * c, r * s}
}

// Add returns p + q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns p - q.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Mul returns p scaled by k.
func (p Point) Mul(k float64) Point { return Point{p.X * k, p.Y * k} }

// Neg returns -p.
func (p Point) Neg() Point { return Point{-p.X, -p.Y} }

// Dot returns the dot product of p and q.
func (p Point) Dot(q Point) float64 { return p.X*q.X + p.Y*q.Y }

// Cross returns the z component of the cross product of p and q, positive if q
// lies clockwise of p.
func (p Point) Cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }

// Norm returns the length of p. It overflows beyond 1e154 mm, where the slower
// math.Hypot does not.
func (p Point) Norm() float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y) }

// Dist returns the distance between p and q.
func (p Point) Dist(q Point) float64 { return p.Sub(q).Norm() }

// Angle returns the direction of p seen from the origin, in (-π, π].
func (p Point) Angle() float64 { return math.Atan2(p.Y, p.X) }

// Unit returns p scaled to length one; the zero Point stays zero.
func (p Point) Unit() Point {
	n := p.Norm()
	if n == 0 {
		return p
	}
	return Point{p.X / n, p.Y / n}
}

// Right returns p turned clockwise by a quarter: to the right of travel along p,
// where the cloth lies on an outline.
func (p Point) Right() Point { return Point{-p.Y, p.X} }

// Left returns p turned anticlockwise by a quarter.
func (p Point) Left() Point { return Point{p.Y, -p.X} }

// Lerp returns the point at fraction t of the way from p to q.
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + t*(q.X-p.X), p.Y + t*(q.Y-p.Y)}
}

// Rotate returns p turned clockwise by angle about c.
func (p Point) Rotate(c Point, angle float64) Point {
	s, k := math.Sincos(angle)
	d := p.Sub(c)
	return Point{c.X + k*d.X - s*d.Y, c.Y + s*d.X + k*d.Y}
}

// Near reports whether p and q lie within tol mm of each other.
func (p Point) Near(q Point, tol float64) bool { return p.Dist(q) <= tol }

// Finite reports whether neither coordinate is NaN or infinite.
func (p Point) Finite() bool {
	return !math.IsNaN(p.X-p.X) && !math.IsNaN(p.Y-p.Y)
}

// AngleBetween returns the turn from direction a to direction b, clockwise
// positive, in (-π, π].
func AngleBetween(a, b Point) float64 { return math.Atan2(a.Cross(b), a.Dot(b)) }

// MeetLines returns the point where the straight line through p along u meets the
// line through q along v. s and t are the distances from p and q in units of u
// and v. ok is false if the lines are parallel.
func MeetLines(p, u, q, v Point) (at Point, s, t float64, ok bool) {
	det := u.Cross(v)
	if math.Abs(det) <= 1e-12*u.Norm()*v.Norm() {
		return Point{}, 0, 0, false
	}
	w := q.Sub(p)
	s, t = w.Cross(v)/det, w.Cross(u)/det
	return p.Add(u.Mul(s)), s, t, true
}
