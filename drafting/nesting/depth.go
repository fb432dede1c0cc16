package nesting

import (
	"math"

	"tapeline/drafting/geom"
)

// cellsAcross is the number of cells of a clash's box each way: a power of two.
const cellsAcross = 32

// clash knows, for two shapes, where the first overlaps the second: it is the
// set of the first's positions relative to the second's at which they share
// inner points (the no-fit polygon). The set's box is divided into cells that
// list the parts of the set that matter to a position in them, so that a query
// takes a few steps however many corners the shapes have.
type clash struct {
	box      geom.Box
	perCell  geom.Point // cells per unit of length
	index    []uint16   // the leaf of each cell, row by row
	leaves   []leaf
	sides    []side
	segments []segment // of the boundary, and copies of them cell by cell
	outline  int       // the number of segments of the boundary itself, which come first
}

// leaf is the data of a cell or of a square of cells. Well inside, where an
// approximate depth suffices, it holds the side of the boundary nearest to the
// middle of the square.
type leaf struct {
	kind                  leafKind
	segments, segmentsEnd uint32 // the range of segments that may be nearest
	sides, sidesEnd       uint32 // the range of sides that cut the cell; empty if it is wholly inside
	inward                geom.Point
	reach                 float64 // the depth at d is inward·d - reach
}

type leafKind uint8

const (
	outside leafKind = iota
	wellInside
	bordering
)

// side is a half plane: d lies inside where normal·d < reach.
type side struct {
	normal geom.Point
	reach  float64
	last   bool // of its convex set, in a leaf's range
}

// segment is a straight part of a boundary.
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

// at returns the leaf for a position, nil where the shapes are clear.
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

// depth returns how far the first shape, placed d away from the second, must
// move to be clear of it; 0 if it is clear. Well inside, the result is exact to
// within two cells.
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
