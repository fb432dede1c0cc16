package nesting

import (
	"math"

	"tapeline/drafting/geom"
)

// shape is a piece in one of the ways it may lie, in convex parts.
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

// pairing is the clash of two shapes as seen from the first.
type pairing struct {
	box  geom.Box
	c    *clash
	sign float64 // -1 where the clash is stored for the second, or for both turned

	perUnit float64 // the depth's measure
	scale   float64 // the larger the shapes, the worse the same depth
}

// sizePower makes an overlap of large shapes worse than one of small shapes; by
// trying on the open instances.
const sizePower = 0.25

// badness is how bad an overlap of a depth is. The root lets shallow overlaps
// matter too; by it the last of them are ended.
func (p *pairing) badness(depth float64) float64 {
	d := depth * p.perUnit
	return p.scale * (d + 0.3*math.Sqrt(d))
}

// depth is how far the first shape must move to be clear of the second.
func (p *pairing) depth(d geom.Point) float64 {
	if d.X <= p.box.Min.X || d.X >= p.box.Max.X || d.Y <= p.box.Min.Y || d.Y >= p.box.Max.Y {
		return 0
	}
	return p.c.depth(geom.Point{X: p.sign * d.X, Y: p.sign * d.Y})
}

// pairUp makes the clashes. Seen from the second shape, or with both turned by
// 180°, a clash is the same one reflected in the origin; so one serves up to
// four pairs of shapes.
func (s *search) pairUp() {
	half := make([]int, len(s.shapes)) // of each shape: the one turned by 180°, or -1
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
	s.pairs = make([][]pairing, len(s.shapes))
	for a := range s.pairs {
		s.pairs[a] = make([]pairing, len(s.shapes))
	}
	for a := range s.shapes {
		for b := range s.shapes {
			if s.pairs[a][b].c != nil {
				continue
			}
			c := newClash(s.shapes[a], s.shapes[b], s.gap)
			if ha, hb := half[a], half[b]; ha >= 0 && hb >= 0 {
				s.pair(hb, ha, c, 1)
				s.pair(ha, hb, c, -1)
			}
			s.pair(b, a, c, -1)
			s.pair(a, b, c, 1)
		}
	}
}

func (s *search) pair(a, b int, c *clash, sign float64) {
	box := c.box
	if sign < 0 {
		box = geom.Box{Min: box.Max.Neg(), Max: box.Min.Neg()}
	}
	smaller := min(s.shapes[a].area, s.shapes[b].area) / (s.unit * s.unit)
	s.pairs[a][b] = pairing{box, c, sign, 1 / s.unit, math.Pow(smaller, sizePower)}
}
