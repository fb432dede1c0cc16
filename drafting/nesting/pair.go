package nesting

import (
	"context"
	"math"

	"tapeline/drafting/geom"
)

// shape is an item in one of the ways it may lie, as convex parts.
type shape struct {
	mirrored bool
	turn     float64
	onEdge   bool

	parts []Polygon
	box   geom.Box
	area  float64
}

func newShape(p Polygon) shape {
	p = p.clean()
	return shape{parts: p.convexParts(), box: p.bounds(), area: p.Area()}
}

// pairing is the clash of two shapes seen from the first.
type pairing struct {
	box  geom.Box
	c    *clash
	sign float64 // -1 if the clash is that of the swapped shapes, or of both turned

	perUnit float64 // 1 over the unit in which depths are measured
	scale   float64 // larger for larger shapes, for which the same depth is worse
}

// sizePower makes an overlap of large shapes worse than one of small shapes. The
// value was found by experiment on the open instances.
const sizePower = 0.25

// badness rates an overlap by its depth. The root gives weight to shallow
// overlaps too; without it the last of them would stay.
func (p *pairing) badness(depth float64) float64 {
	d := depth * p.perUnit
	return p.scale * (d + 0.3*math.Sqrt(d))
}

// depth returns how far the first shape must move to be clear of the second.
func (p *pairing) depth(d geom.Point) float64 {
	if d.X <= p.box.Min.X || d.X >= p.box.Max.X || d.Y <= p.box.Min.Y || d.Y >= p.box.Max.Y {
		return 0
	}
	return p.c.depth(geom.Point{X: p.sign * d.X, Y: p.sign * d.Y})
}

// pairUp makes the clashes of all pairs of shapes. With the shapes swapped, or
// with both turned by 180°, a clash is the same one reflected in the origin, so
// that one clash serves up to four pairs.
func (s *search) pairUp(ctx context.Context) error {
	half := s.halfTurned()
	s.pairs = make([][]pairing, len(s.shapes))
	for a := range s.pairs {
		s.pairs[a] = make([]pairing, len(s.shapes))
	}
	for a := range s.shapes {
		for b := range s.shapes {
			if s.pairs[a][b].c != nil {
				continue
			}
			c, err := newClash(ctx, s.shapes[a], s.shapes[b], s.gap)
			if err != nil {
				return err
			}
			if ha, hb := half[a], half[b]; ha >= 0 && hb >= 0 {
				s.pair(hb, ha, c, 1)
				s.pair(ha, hb, c, -1)
			}
			s.pair(b, a, c, -1)
			s.pair(a, b, c, 1)
		}
	}
	return nil
}

// halfTurned returns for every shape the index of the same shape turned by 180°,
// or -1.
func (s *search) halfTurned() []int {
	half := make([]int, len(s.shapes))
	for _, k := range s.kinds {
		for i := k.first; i < k.first+k.count; i++ {
			half[i] = -1
			for j := k.first; j < k.first+k.count; j++ {
				a, b := &s.shapes[i], &s.shapes[j]
				if a.mirrored == b.mirrored && math.Abs(math.Abs(a.turn-b.turn)-math.Pi) < 1e-9 {
					half[i] = j
				}
			}
		}
	}
	return half
}

// pair stores the clash of shapes a and b.
func (s *search) pair(a, b int, c *clash, sign float64) {
	box := c.box
	if sign < 0 {
		box = geom.Box{Min: box.Max.Neg(), Max: box.Min.Neg()}
	}
	smaller := min(s.shapes[a].area, s.shapes[b].area) / (s.unit * s.unit)
	s.pairs[a][b] = pairing{box, c, sign, 1 / s.unit, math.Pow(smaller, sizePower)}
}
