package nesting

import (
	"math"

	"tapeline/drafting/geom"
)

// cellsAcross is how many cells the box of a clash has each way: a power of two.
const cellsAcross = 32

// clash holds, for two shapes, where the first overlaps the second: the set of
// its places, less the second's, at which they share inner points (the no-fit
// polygon). The set's box is cut into cells that know which parts of it matter
// to a place in them, so that asking takes a few steps however many corners the
// shapes have.
type clash struct {
	box      geom.Box
	perCell  geom.Point // cells per unit of length
	index    []uint16   // of each cell, row by row: its leaf
	leaves   []leaf
	sides    []side
	segments []segment // of the boundary, and copies of them cell by cell
	outline  int       // the first so many segments are the boundary itself
}

// leaf is what a cell knows. Well inside, where only about how deep is asked, it
// is the nearest side of the boundary as seen from the middle of the cell.
type leaf struct {
	kind                  leafKind
	segments, segmentsEnd uint32 // those of the boundary that may be nearest
	sides, sidesEnd       uint32 // of the convex sets that cut the cell; none if all of it is inside
	inward                geom.Point
	reach                 float64 // depth is inward·d less this
}

type leafKind uint8

const (
	outside leafKind = iota
	wellInside
	bordering
)

// side is a half plane: inside where normal·d < reach. It is the last of those
// of its convex set if so marked.
type side struct {
	normal geom.Point
	reach  float64
	last   bool
}

// segment of a boundary.
type segment struct {
	from, along geom.Point // along has unit length
	length      float64
}

// outwards returns the step from d to the nearest point of the segment.
func (s *segment) outwards(d geom.Point) geom.Point {
	x, y := s.from.X-d.X, s.from.Y-d.Y
	t := -(x*s.along.X + y*s.along.Y)
	if t <= 0 {
		return geom.Point{X: x, Y: y}
	}
	t = min(t, s.length)
	return geom.Point{X: x + t*s.along.X, Y: y + t*s.along.Y}
}

// at is the leaf for a place, nil where the shapes are clear.
func (c *clash) at(d geom.Point) *leaf {
	x, y := (d.X-c.box.Min.X)*c.perCell.X, (d.Y-c.box.Min.Y)*c.perCell.Y
	if !(x > 0 && x < cellsAcross && y > 0 && y < cellsAcross) {
		return nil
	}
	l := &c.leaves[c.index[int(y)*cellsAcross+int(x)]]
	switch {
	case l.kind == outside:
		return nil
	case l.sides == l.sidesEnd:
		return l
	}
	inside := true
	for i := l.sides; i < l.sidesEnd; i++ {
		s := &c.sides[i]
		inside = inside && s.normal.X*d.X+s.normal.Y*d.Y < s.reach
		if s.last {
			if inside {
				return l
			}
			inside = true
		}
	}
	return nil
}

// depth is how far the first shape must move to be clear of the second when
// placed d away from it; 0 where it is clear. Well inside it is exact to within
// two cells.
func (c *clash) depth(d geom.Point) float64 {
	l := c.at(d)
	if l == nil {
		return 0
	}
	if l.kind == wellInside {
		return l.inward.X*d.X + l.inward.Y*d.Y - l.reach
	}
	least := math.Inf(1)
	for i := l.segments; i < l.segmentsEnd; i++ {
		w := c.segments[i].outwards(d)
		if q := w.X*w.X + w.Y*w.Y; q < least {
			least = q
		}
	}
	return math.Sqrt(least)
}
