package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// TestGrip lays a strip over a smooth round bar, 200 mm of it on one side and 150 on the other. A
// grip that bears more than the difference in weight holds it: both ends hang where they were
// laid. One that bears less does not (statics of a rope over a pulley).
func TestGrip(t *testing.T) {
	const radius, long, short, wide, standoff = 20.0, 200.0, 150.0, 30.0, 1.0
	bar := func(_ int, p r3.Vec) (float64, r3.Vec) {
		r := math.Hypot(p.Y, p.Z)
		return r - radius, r3.Vec{Y: p.Y / r, Z: p.Z / r}
	}
	round := math.Pi * (radius + standoff)
	strip := func(share float64) *Mesh {
		m := grid(light, wide, long+round+short, 3, 40, func(u, v float64) r3.Vec {
			switch s := v - long; {
			case s < 0:
				return r3.Vec{X: u, Y: s, Z: -radius - standoff}
			case s > round:
				return r3.Vec{X: u, Y: round - s, Z: radius + standoff}
			default:
				sin, cos := math.Sincos(s / (radius + standoff))
				return r3.Vec{X: u, Y: (radius + standoff) * sin, Z: -(radius + standoff) * cos}
			}
		})
		more := (long - short) * wide * light.load()
		for i, p := range m.Points {
			if p.Y > radius {
				m.Grips = append(m.Grips, Grip{Point: i, Z: p.Z})
			}
		}
		for i := range m.Grips {
			m.Grips[i].Most = share * more / float64(len(m.Grips))
		}
		return m
	}
	m := strip(1.5)
	settled(t, m, bar, Options{Standoff: standoff, Residual: 2e-3})
	if first, last := m.Points[0].Y, m.Points[len(m.Points)-1].Y; math.Abs(first+long) > 2 || math.Abs(last+short) > 2 {
		t.Errorf("the ends hang at %.1f and %.1f mm, want %.0f and %.0f", first, last, -long, -short)
	}
	m = strip(0.5)
	if _, err := Settle(t.Context(), m, bar, Options{Standoff: standoff, Residual: 1e-4, Steps: 12_000}); err != nil {
		t.Fatal(err)
	}
	if first := m.Points[0].Y; first > -long-20 {
		t.Errorf("the longer end hangs at %.1f mm: it did not slide", first)
	}
}
