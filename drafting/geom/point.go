package geom

import "math"

// Point is a place on the paper, or the step from one place to another, in mm.
type Point struct{ X, Y float64 }

// Pt is shorthand for Point{x, y}.
func Pt(x, y float64) Point { return Point{x, y} }

// Polar is the step of length r in direction angle (0 is +x, clockwise).
func Polar(r, angle float64) Point {
	s, c := math.Sincos(angle)
	return Point{r * c, r * s}
}

func (p Point) Add(q Point) Point     { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) Sub(q Point) Point     { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) Mul(k float64) Point   { return Point{p.X * k, p.Y * k} }
func (p Point) Neg() Point            { return Point{-p.X, -p.Y} }
func (p Point) Dot(q Point) float64   { return p.X*q.X + p.Y*q.Y }
func (p Point) Cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }

// Norm is the length of p. Beyond 1e154 mm it overflows, where the slower
// math.Hypot would not.
func (p Point) Norm() float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y) }

// Dist is the distance between p and q.
func (p Point) Dist(q Point) float64 { return p.Sub(q).Norm() }

// Angle is the direction of p seen from the origin, in (-π, π].
func (p Point) Angle() float64 { return math.Atan2(p.Y, p.X) }

// Unit is p scaled to length one; the zero Point stays zero.
func (p Point) Unit() Point {
	n := p.Norm()
	if n == 0 {
		return p
	}
	return Point{p.X / n, p.Y / n}
}

// Right is p turned a quarter clockwise: the right hand of one who walks
// along p, where the cloth lies on an outline.
func (p Point) Right() Point { return Point{-p.Y, p.X} }

// Left is p turned a quarter anticlockwise.
func (p Point) Left() Point { return Point{p.Y, -p.X} }

// Lerp is the point at fraction t of the way from p to q.
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + t*(q.X-p.X), p.Y + t*(q.Y-p.Y)}
}

// Rotate turns p clockwise by angle about c.
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

// AngleBetween is the turn from direction a to direction b, clockwise
// positive, in (-π, π].
func AngleBetween(a, b Point) float64 { return math.Atan2(a.Cross(b), a.Dot(b)) }

// MeetLines is where the straight line through p along u meets the one
// through q along v. s and t are the distances walked in units of u and v;
// ok is false where the lines are parallel.
func MeetLines(p, u, q, v Point) (at Point, s, t float64, ok bool) {
	det := u.Cross(v)
	if math.Abs(det) <= 1e-12*u.Norm()*v.Norm() {
		return Point{}, 0, 0, false
	}
	w := q.Sub(p)
	s, t = w.Cross(v)/det, w.Cross(u)/det
	return p.Add(u.Mul(s)), s, t, true
}
