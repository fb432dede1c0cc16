package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape/trimesh"
)

// plate is the top of a round block, endless below: y <= 0 within the radius.
type plate struct{ radius float64 }

func (b plate) distance(_ int, p r3.Vec) (float64, r3.Vec) {
	r := math.Hypot(p.X, p.Z)
	out := r3.Vec{X: p.X / r, Z: p.Z / r}
	aside := r - b.radius
	switch {
	case aside > 0 && p.Y > 0:
		edge := r3.Vec{X: aside * out.X, Y: p.Y, Z: aside * out.Z}
		return r3.Norm(edge), r3.Unit(edge)
	case aside > p.Y:
		return aside, out
	}
	return p.Y, r3.Vec{Y: 1}
}

// TestCusick drapes a disc of 300 mm over one of 180. The drape coefficient is the
// share of the ring beyond the table that the cloth's shadow covers. Its values
// rise with the bending length as measured (Cusick 1965; Kenkare and
// May-Plumlee 2004; values from memory).
func TestCusick(t *testing.T) {
	last := 0.0
	for _, test := range []struct{ bending, low, high float64 }{{15, 22, 48}, {20, 36, 64}, {30, 60, 88}} {
		c := light
		c.BendWarp, c.BendWeft = test.bending, test.bending
		m := disc(c, 150, 11)
		settled(t, m, plate{90}.distance, Options{Friction: 0.1, Residual: 0.02, Steps: 20_000})
		n := 0
		for n < len(m.Points) && n < rim(150, 11) {
			n++
		}
		shadow := 0.0
		for i := range n {
			p, q := m.Points[i], m.Points[(i+1)%n]
			shadow += (p.X*q.Z - p.Z*q.X) / 2
		}
		coefficient := 100 * (math.Abs(shadow) - math.Pi*90*90) / (math.Pi * (150*150 - 90*90))
		t.Logf("bending length %.0f mm: drape coefficient %.1f %%", test.bending, coefficient)
		if coefficient < test.low || coefficient > test.high || coefficient < last {
			t.Errorf("bending length %.0f mm: drape coefficient %.1f %%, want %.0f to %.0f and more than %.1f", test.bending,
				coefficient, test.low, test.high, last)
		}
		last = coefficient
	}
}

func rim(radius, size float64) int { return int(2 * math.Pi * radius / size) }

// disc returns a round cloth that lies level at y = 0, its rim's points first.
func disc(c Cloth, radius, size float64) *Mesh {
	var loop []r2.Vec
	n := rim(radius, size)
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		loop = append(loop, r2.Vec{X: radius * math.Cos(a), Y: radius * math.Sin(a)})
	}
	flat, triangles, err := trimesh.Fill([][]r2.Vec{loop}, size)
	if err != nil {
		panic(err)
	}
	m := &Mesh{Cloths: []Cloth{c}}
	for _, p := range flat {
		// A breath of unevenness, without which a level sheet would not buckle.
		lift := 0.2 * math.Sin(5*math.Atan2(p.Y, p.X)) * math.Hypot(p.X, p.Y) / radius
		m.Points = append(m.Points, r3.Vec{X: p.X, Y: lift, Z: -p.Y})
	}
	for _, t := range triangles {
		m.Triangles = append(m.Triangles, Triangle{Points: t, Flat: [3]r2.Vec{flat[t[0]], flat[t[1]], flat[t[2]]}})
	}
	return m
}
