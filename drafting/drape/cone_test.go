package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// A cone is an upright cone about the y axis that widens downwards: its radius at
// height y is slope times the distance from the apex at y = top.
type cone struct{ top, slope float64 }

func (c cone) distance(_ int, p r3.Vec) (float64, r3.Vec) {
	r := math.Hypot(p.X, p.Z)
	n := math.Hypot(1, c.slope)
	out := r3.Vec{X: p.X / (r * n), Y: c.slope / n, Z: p.Z / (r * n)}
	return (r - c.slope*(c.top-p.Y)) / n, out
}

// skirt returns the frustum of a cone developed flat, less by a share, and sewn, at
// first standing off the cone.
func skirt(c Cloth, k cone, from, to, less float64, columns, rows int) *Mesh {
	m := &Mesh{Cloths: []Cloth{c}}
	side := math.Hypot(1, k.slope)       // slant length for a unit of height
	turn := 2 * math.Pi * k.slope / side // angle of the sector
	flat := func(i, j int) r2.Vec {
		s := side * (from + (to-from)*float64(j)/float64(rows)) // from the apex
		a := turn * float64(i) / float64(columns)
		sin, cos := math.Sincos(a)
		return r2.Scale(1-less, r2.Vec{X: s * sin, Y: -s * cos})
	}
	for j := range rows + 1 {
		down := from + (to-from)*float64(j)/float64(rows)
		for i := range columns {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(columns))
			r := k.slope*down + 4
			m.Points = append(m.Points, r3.Vec{X: r * sin, Y: k.top - down, Z: r * cos})
		}
	}
	add := func(corners ...[2]int) {
		var t Triangle
		for n, c := range corners {
			t.Points[n], t.Flat[n] = c[1]*columns+c[0]%columns, flat(c[0], c[1])
		}
		m.Triangles = append(m.Triangles, t)
	}
	for j := range rows {
		for i := range columns {
			add([2]int{i, j + 1}, [2]int{i + 1, j}, [2]int{i, j})
			add([2]int{i, j + 1}, [2]int{i + 1, j + 1}, [2]int{i + 1, j})
		}
	}
	return m
}

// TestCone: a cone developed flat, which is a sector of a ring, and sewn hangs on its
// cone without strain. Cut smaller by a share it slides up until it fits again.
func TestCone(t *testing.T) {
	k := cone{top: 400, slope: 0.3}
	for _, test := range []struct{ less, up float64 }{{0, 0}, {0.02, 0.02}} {
		c := light
		m := skirt(c, k, 200, 500, test.less, 64, 20)
		settled(t, m, k.distance, Options{Residual: 2e-3})
		high := math.Inf(-1)
		for _, p := range m.Points {
			high = max(high, p.Y)
		}
		for i := range m.Triangles {
			if s := m.Stretch(i); math.Abs(s.Weft) > 0.002 || math.Abs(s.Warp) > 0.002 {
				t.Errorf("less by %g: triangle %d is stretched by %.4f and %.4f", test.less, i, s.Weft, s.Warp)
				break
			}
		}
		if want := k.top - 200*(1-test.up); math.Abs(high-want) > 1 {
			t.Errorf("less by %g: its upper edge is at %.1f mm, want %.1f", test.less, high, want)
		}
	}
}

// TestTightComesToRest: a cone cut smaller is pressed on its body by many times its weight. The force that
// slides it up is small beside that and not beside the weight, unless OfWeight asks for it.
func TestTightComesToRest(t *testing.T) {
	k := cone{top: 1200, slope: 0.08}
	unbalanced := func(o Options) float64 {
		m := skirt(light, k, 1000, 1300, 0.02, 64, 20)
		settled(t, m, k.distance, o)
		s, err := newSolver(m, k.distance, o)
		if err != nil {
			t.Fatal(err)
		}
		s.soften(1)
		s.forces()
		_, ofWeight := s.residual()
		return ofWeight
	}
	rough, near := unbalanced(Options{Residual: 0.02}), unbalanced(Options{Residual: 0.02, OfWeight: 0.2})
	if rough < 0.2 || near > 0.2 {
		t.Errorf("%.2f of the weight is unbalanced, and with OfWeight %.2f; want over and under 0.2", rough, near)
	}
}
