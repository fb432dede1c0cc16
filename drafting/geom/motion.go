package geom

import "math"

// Motion is a rigid motion: a turn, a reflection, a shift, or a sequence of them.
// The zero value is not a motion; start from Still, Shift, Turn or Reflect.
type Motion struct{ a, b, c, d, e, f float64 }

// Still is the motion that moves nothing.
var Still = Motion{a: 1, d: 1}

// Shift returns the motion by v.
func Shift(v Point) Motion { return Motion{a: 1, d: 1, e: v.X, f: v.Y} }

// Turn returns the clockwise rotation by angle about c.
func Turn(c Point, angle float64) Motion {
	s, k := math.Sincos(angle)
	return Motion{k, s, -s, k, c.X - k*c.X + s*c.Y, c.Y - s*c.X - k*c.Y}
}

// Reflect returns the reflection in the line through p along u.
func Reflect(p, u Point) Motion {
	u = u.Unit()
	c, s := u.X*u.X-u.Y*u.Y, 2*u.X*u.Y
	return Motion{c, s, s, -c, p.X - c*p.X - s*p.Y, p.Y - s*p.X + c*p.Y}
}

// Then returns the motion m followed by n.
func (m Motion) Then(n Motion) Motion {
	return Motion{
		a: n.a*m.a + n.c*m.b, b: n.b*m.a + n.d*m.b,
		c: n.a*m.c + n.c*m.d, d: n.b*m.c + n.d*m.d,
		e: n.a*m.e + n.c*m.f + n.e, f: n.b*m.e + n.d*m.f + n.f,
	}
}

// Apply returns p after the motion.
func (m Motion) Apply(p Point) Point {
	return Point{m.a*p.X + m.c*p.Y + m.e, m.b*p.X + m.d*p.Y + m.f}
}

// Mirrors reports whether m turns the paper over.
func (m Motion) Mirrors() bool { return m.a*m.d-m.b*m.c < 0 }

// ApplyVector returns the direction v after the motion.
func (m Motion) ApplyVector(v Point) Point {
	return Point{m.a*v.X + m.c*v.Y, m.b*v.X + m.d*v.Y}
}
