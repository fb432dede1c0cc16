package lay

import (
	"cmp"
	"slices"

	"tapeline/drafting/geom"
)

// shape is a piece in one of its turns, in convex parts.
type shape struct {
	outline Polygon
	parts   []Polygon
	box     geom.Box
}

func newShape(p Polygon) shape {
	return shape{outline: p, parts: p.convexParts(), box: p.bounds()}
}

// clash holds, for two shapes, where the first overlaps the second: as convex
// polygons in the plane of the first's place less the second's, one for each
// two parts (the Minkowski sum of one and the other reflected).
type clash struct {
	box   geom.Box
	parts []clashPart
}

type clashPart struct {
	box     geom.Box
	sides   []clashSide
	ring    Polygon
	deepest float64 // no place lies deeper in the part than this
}

// clashSide is a half plane: inside where normal·d < reach.
type clashSide struct {
	normal geom.Point
	reach  float64
}

func newClash(a, b shape) clash {
	c := clash{box: geom.EmptyBox()}
	for _, p := range a.parts {
		for _, q := range b.parts {
			sums := make([]geom.Point, 0, len(p)*len(q))
			for _, u := range q {
				for _, v := range p {
					sums = append(sums, u.Sub(v))
				}
			}
			ring := hull(sums)
			part := clashPart{box: ring.bounds(), ring: ring}
			for i, u := range ring {
				v := ring[(i+1)%len(ring)]
				n := v.Sub(u).Unit().Left()
				part.sides = append(part.sides, clashSide{n, n.Dot(u)})
			}
			part.deepest = min(part.box.Width(), part.box.Height()) / 2
			c.parts = append(c.parts, part)
			c.box = c.box.Union(part.box)
		}
	}
	slices.SortStableFunc(c.parts, func(a, b clashPart) int { return cmp.Compare(b.deepest, a.deepest) })
	return c
}

// depth is how deep the first shape lies in the second when placed d away from
// it: the least way out of the two parts that lie deepest in each other; 0 where
// the shapes are clear.
func (c *clash) depth(d geom.Point) float64 {
	if d.X <= c.box.Min.X || d.X >= c.box.Max.X || d.Y <= c.box.Min.Y || d.Y >= c.box.Max.Y {
		return 0
	}
	deepest := 0.0
	for i := range c.parts {
		p := &c.parts[i]
		if p.deepest <= deepest {
			break
		}
		if d.X <= p.box.Min.X || d.X >= p.box.Max.X || d.Y <= p.box.Min.Y || d.Y >= p.box.Max.Y {
			continue
		}
		way := p.sides[0].reach - p.sides[0].normal.Dot(d)
		for k := 1; k < len(p.sides) && way > deepest; k++ {
			if w := p.sides[k].reach - p.sides[k].normal.Dot(d); w < way {
				way = w
			}
		}
		deepest = max(deepest, way)
	}
	return deepest
}

// wayOut is the shortest step that takes the deepest two parts apart.
func (c *clash) wayOut(d geom.Point) geom.Point {
	deepest, out := 0.0, geom.Point{}
	for i := range c.parts {
		p := &c.parts[i]
		least, normal := p.sides[0].reach-p.sides[0].normal.Dot(d), p.sides[0].normal
		for k := 1; k < len(p.sides) && least > 0; k++ {
			if w := p.sides[k].reach - p.sides[k].normal.Dot(d); w < least {
				least, normal = w, p.sides[k].normal
			}
		}
		if least > deepest {
			deepest, out = least, normal.Mul(least)
		}
	}
	return out
}
