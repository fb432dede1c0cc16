package geom

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

// promised is the relative error of arc lengths that the product promises.
const promised = 1e-6

// integral returns the arc length by gonum's Gauss-Legendre rule with 100 nodes on
// each of 128 equal parts: another library and another way than Length's.
func integral(s Segment) float64 {
	speed := func(t float64) float64 { return math.Hypot(s.Deriv(t).X, s.Deriv(t).Y) }
	var sum float64
	for i := range 128 {
		sum += quad.Fixed(speed, float64(i)/128, float64(i+1)/128, 100, quad.Legendre{}, 0)
	}
	return sum
}

// parabola returns y = x² from x0 to x1 as a cubic (a quadratic raised by a degree).
func parabola(x0, x1 float64) Segment {
	a, c := Pt(x0, x0*x0), Pt(x1, x1*x1)
	b := Pt((x0+x1)/2, x0*x1) // where the end tangents meet
	return Cubic(a, a.Lerp(b, 2.0/3), c.Lerp(b, 2.0/3), c)
}

// parabolaLength returns the closed form ∫√(1+4x²)dx = (2x√(1+4x²) + asinh 2x)/4.
func parabolaLength(x0, x1 float64) float64 {
	f := func(x float64) float64 { return (2*x*math.Sqrt(1+4*x*x) + math.Asinh(2*x)) / 4 }
	return f(x1) - f(x0)
}

// cuspidal returns x = t², y = t³ from t0 to t1: it stands still at t = 0.
func cuspidal(t0, t1 float64) Segment {
	// Blossoms of t² and t³ at the corner values.
	b := func(u, v, w float64) Point { return Pt((u*v+v*w+w*u)/3, u*v*w) }
	return Cubic(b(t0, t0, t0), b(t0, t0, t1), b(t0, t1, t1), b(t1, t1, t1))
}

// cuspidalLength returns W. Neile's rectification (1657): from the cusp to t it is
// ((4+9t²)^3/2 − 8)/27.
func cuspidalLength(t0, t1 float64) float64 {
	f := func(t float64) float64 { return math.Copysign((math.Pow(4+9*t*t, 1.5)-8)/27, t) }
	return f(t1) - f(t0)
}

func TestLengthClosedForms(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		p    Path
		want float64
	}{
		{"line 3-4-5", Path{Line(Pt(0, 0), Pt(30, 40))}, 50},
		{"cubic on a line", Path{Cubic(Pt(0, 0), Pt(10, 0), Pt(20, 0), Pt(90, 0))}, 90},
		{"parabola", Path{parabola(0, 1)}, parabolaLength(0, 1)},
		{"parabola round its tip", Path{parabola(-3, 20)}, parabolaLength(-3, 20)},
		{"parabola, tip near one end", Path{parabola(-0.01, 100)}, parabolaLength(-0.01, 100)},
		{"cusp at the start", Path{cuspidal(0, 5)}, cuspidalLength(0, 5)},
		{"cusp inside", Path{cuspidal(-0.7, 1)}, cuspidalLength(-0.7, 1)},
		{"cusp near the end", Path{cuspidal(-1, 0.001)}, cuspidalLength(-1, 0.001)},
		// A cubic arc with handles 4/3·tan(θ/4) errs by about θ⁶/… of its
		// radius: with 256 to the circle far below the promise.
		{"circle of 256 arcs", circle(Pt(10, 20), 100, 256), 2 * math.Pi * 100},
		{"ellipse 200 × 60", ellipse(200, 60, 512), ellipseLength(200, 60)},
		{"ellipse 500 × 5", ellipse(500, 5, 2048), ellipseLength(500, 5)},
	} {
		if got := c.p.Length(); math.Abs(got-c.want) > promised*c.want {
			t.Errorf("%s: %.9f, want %.9f (relative error %.2g)", c.name, got, c.want, got/c.want-1)
		}
	}
}

// ellipse returns a circle of n arcs stretched: the parametrisation stays smooth.
func ellipse(a, b float64, n int) Path {
	p := circle(Pt(0, 0), 1, n)
	for i := range p {
		s := &p[i]
		for _, q := range []*Point{&s.P0, &s.P1, &s.P2, &s.P3} {
			*q = Pt(a*q.X, b*q.Y)
		}
	}
	return p
}

// ellipseLength returns 4a·E(1−b²/a²), E the complete elliptic integral of the
// second kind by gonum.
func ellipseLength(a, b float64) float64 { return 4 * a * mathext.CompleteE(1-b*b/(a*a)) }

func TestLengthAgainstIntegral(t *testing.T) {
	t.Parallel()
	worst := 0.0
	check := func(name string, s Segment) {
		want, got := integral(s), s.Length()
		if want > 0 {
			worst = max(worst, math.Abs(got/want-1))
		}
		if math.Abs(got-want) > promised*want {
			t.Errorf("%s %v: %.9f, want %.9f", name, s, got, want)
		}
	}
	check("quarter circle", arc(Pt(0, 0), 100, 0, math.Pi/2))
	check("half circle", arc(Pt(0, 0), 100, 0, math.Pi))
	check("third of a turn", arc(Pt(9, 9), 7, 1, 1+2*math.Pi/3))
	for seed := range sampled(50, 200) {
		check("any", anyCubic(seeded(seed), 300))
	}
	t.Logf("worst relative error %.2g", worst)
}

func TestPointAtLength(t *testing.T) {
	t.Parallel()
	// On a circle the point at length d is known: angle d/r.
	p := circle(Pt(0, 0), 100, 128)
	for d := 0.0; d < 628; d += 17.3 {
		if want := Polar(100, d/100); !p.At(d).Near(want, 1e-4) {
			t.Errorf("at %g: %v, want %v", d, p.At(d), want)
		}
		if want := Polar(1, d/100+math.Pi/2); !p.TangentAt(d).Near(want, 1e-5) {
			t.Errorf("direction at %g: %v, want %v", d, p.TangentAt(d), want)
		}
	}
	for seed := range uint64(200) {
		r := seeded(seed)
		s := anyCubic(r, 300)
		n := s.Length()
		for range 5 {
			d := n * r.Float64()
			if got := s.LengthTo(s.ParamAt(d)); math.Abs(got-d) > promised*n {
				t.Errorf("seed %d: walked %.9f for %.9f of %.9f", seed, got, d, n)
			}
		}
	}
}

func TestParamAtEnds(t *testing.T) {
	t.Parallel()
	s := arc(Pt(0, 0), 50, 0, 1)
	for d, want := range map[float64]float64{-1: 0, 0: 0, 1e9: 1, math.Inf(1): 1, math.Inf(-1): 0} {
		if got := s.ParamAt(d); got != want {
			t.Errorf("ParamAt(%g) = %g, want %g", d, got, want)
		}
	}
	if got := s.ParamAt(math.NaN()); got != 0 {
		t.Errorf("ParamAt(NaN) = %g, want the start", got)
	}
	point := Cubic(Pt(1, 1), Pt(1, 1), Pt(1, 1), Pt(1, 1))
	if point.Length() != 0 || point.ParamAt(5) != 0 {
		t.Errorf("a point has length %g", point.Length())
	}
}
