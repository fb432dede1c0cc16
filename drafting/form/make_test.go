package form

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	bodies "tapeline/drafting/body"
)

// made returns the form of the measurements of a body with a surface.
func made(t testing.TB, given map[string]float64) *Form {
	t.Helper()
	m := bodies.Measures{}
	for name, cm := range given {
		if _, ok := bodies.Lookup(bodies.Name(name)); ok {
			m[bodies.Name(name)] = 10 * cm
		}
	}
	b, faults := bodies.NewIn(bodies.Millimetre, m, nil, Needs)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	f, err := Make(b, true)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestMadeAgainstSurfaces makes forms of the measurements of three bodies and
// compares them with the bodies' own surfaces over the trunk.
func TestMadeAgainstSurfaces(t *testing.T) {
	for _, name := range []string{"w-average", "w-full-bust", "w-petite"} {
		body, m := surface(t, name)
		f := made(t, m)
		sum, n, worst := 0.0, 0, 0.0
		var where r3.Vec
		for _, p := range body.Points {
			l := body.Landmarks
			if p.Y < l[Crotch].Y+30 || p.Y > l[SideNeck].Y || math.Abs(p.X) > 0.9*l[Shoulder].X {
				continue
			}
			d, _ := f.Distance(p)
			sum += math.Abs(d)
			n++
			if math.Abs(d) > worst {
				worst, where = math.Abs(d), p
			}
		}
		t.Logf("%s: %.1f mm on average of %d points, worst %.1f at %.0f", name, sum/float64(n), n, worst, where)
		if sum/float64(n) > 12 {
			t.Errorf("%s: %.1f mm from the surface on average", name, sum/float64(n))
		}
	}
}
