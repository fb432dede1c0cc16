package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"
)

// sphere is a sphere about the origin.
type sphere struct{ radius float64 }

func (s sphere) distance(_ int, p r3.Vec) (float64, r3.Vec) {
	r := r3.Norm(p)
	return r - s.radius, r3.Scale(1/r, p)
}

// gores returns a cover of a sphere, cut in gores: each as wide at every level as its part
// of the sphere is round. Flat lengths are smaller by a share.
func gores(c Cloth, s sphere, n int, less float64) *Mesh {
	const columns, rows = 192, 96
	m := &Mesh{Cloths: []Cloth{c}, Points: []r3.Vec{{Y: s.radius}, {Y: -s.radius}}}
	off := func(j int) float64 { return math.Pi * float64(j) / rows }
	for j := 1; j < rows; j++ {
		sin, cos := math.Sincos(off(j))
		for i := range columns {
			x, z := math.Sincos(2 * math.Pi * float64(i) / columns)
			m.Points = append(m.Points, r3.Scale(s.radius, r3.Vec{X: sin * x, Y: cos, Z: sin * z}))
		}
	}
	add := func(gore int, corners ...[2]int) {
		var t Triangle
		for k, c := range corners {
			switch i, j := c[0], c[1]; j {
			case 0, rows:
				t.Points[k] = j / rows
			default:
				t.Points[k] = 2 + (j-1)*columns + i%columns
			}
			across := float64(c[0])*float64(n)/columns - float64(gore) - 0.5 // in widths of the gore
			wide := 2 * math.Pi / float64(n) * math.Sin(off(c[1]))
			t.Flat[k] = r2.Scale((1-less)*s.radius, r2.Vec{X: across * wide, Y: -off(c[1])})
		}
		m.Triangles = append(m.Triangles, t)
	}
	for j := range rows {
		for i := range columns {
			gore := i * n / columns
			if j > 0 {
				add(gore, [2]int{i, j + 1}, [2]int{i + 1, j}, [2]int{i, j})
			}
			if j < rows-1 {
				add(gore, [2]int{i, j + 1}, [2]int{i + 1, j + 1}, [2]int{i + 1, j})
			}
		}
	}
	return m
}

// TestGores: a sphere is covered with gores that are cut flat. A line at a distance x from
// the great circle along the middle of a gore is shorter on the sphere than in the flat, by
// x^2/2R^2 of its length. Over gores of half width pi/n R sin that is, as a standard
// deviation, 0.12 (pi/n)^2: a quarter for twice as many gores.
func TestGores(t *testing.T) {
	c := Cloth{Weight: 1e-3, Warp: 1000, Weft: 1000, Shear: 385, Poisson: 0.3, BendWarp: 1, BendWeft: 1}
	const less = 0.1 // stretched everywhere, so that nothing stands off
	before := 0.0
	for _, n := range []int{8, 16, 32} {
		m := gores(c, sphere{100}, n, less)
		settled(t, m, sphere{100}.distance, Options{Residual: 1e-4})
		warp := make([]float64, len(m.Triangles))
		for i := range m.Triangles {
			warp[i] = m.Stretch(i).Warp
		}
		got, want := stat.StdDev(warp, nil), 0.12*math.Pow(math.Pi/float64(n), 2)/(1-less)
		t.Logf("%d gores: strains along the warp differ by %.3f %%, geometry says %.3f", n, 100*got, 100*want)
		if got < want || got > 1.3*want { // shear spreads it
			t.Errorf("%d gores: strains differ by %.5f, want %.5f or a little more", n, got, want)
		}
		if before > 0 && math.Abs(before/got-4) > 0.4 {
			t.Errorf("%d gores: strains differ by %.5f, of half as many by %.5f, want a quarter", n, got, before)
		}
		before = got
	}
}
