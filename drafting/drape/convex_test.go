package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// oblong is an upright wall about the y axis, of two planes that half circles join.
type oblong struct{ radius, straight float64 }

func (o oblong) distance(_ int, p r3.Vec) (float64, r3.Vec) {
	x := p.X - max(-o.straight/2, min(o.straight/2, p.X))
	r := math.Hypot(x, p.Z)
	return r - o.radius, r3.Vec{X: x / r, Z: p.Z / r}
}

// at returns the point of the wall at a share of its girth, and a distance from it.
func (o oblong) at(share, off, y float64) r3.Vec {
	half := math.Pi*o.radius + o.straight
	s := 2 * half * (share - math.Floor(share))
	side := 1.0
	if s > half {
		s, side = s-half, -1
	}
	if s < o.straight {
		return r3.Vec{X: side * (s - o.straight/2), Y: y, Z: side * (o.radius + off)}
	}
	x, z := math.Sincos((s - o.straight) / o.radius)
	return r3.Vec{X: side * (o.straight/2 + (o.radius+off)*x), Y: y, Z: side * (o.radius + off) * z}
}

// TestConvexForm: a garment cut with no ease to a convex form is not strained by more than
// half a per cent; cut 20 mm smaller it is stretched by 20 mm of its girth everywhere.
func TestConvexForm(t *testing.T) {
	o := oblong{90, 160}
	girth := 2 * (math.Pi*o.radius + o.straight)
	for _, less := range []float64{0, 20} {
		const columns, rows = 96, 20
		m := tube(light, girth-less, 150, 100, columns, rows)
		for i, p := range m.Points {
			row := i / columns
			share := (float64(i%columns) + 0.5*float64(row%2)) / columns
			if m.Pinned[i] = row == rows; m.Pinned[i] {
				m.Points[i] = o.at(share, 0, p.Y)
			} else { // off the form, and shifted round it
				m.Points[i] = o.at(share+0.01*math.Sin(6*math.Pi*share), 3, p.Y)
			}
		}
		settled(t, m, o.distance, Options{Residual: 1e-3})
		want := girth/(girth-less) - 1
		for i := range m.Triangles {
			if got := m.Stretch(i).Weft; math.Abs(got-want) > 0.005 {
				t.Errorf("%g mm smaller: triangle %d is strained by %.4f, want %.4f", less, i, got, want)
				break
			}
		}
	}
}
