package nesting

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// convexSet is one of the convex sets that a clash is the union of.
type convexSet struct {
	box   geom.Box
	ring  Polygon
	sides []side
}

// newClash makes the clash of two shapes to be held a gap apart: the union of
// the Minkowski sums of the one's convex parts reflected and the other's, and of
// a disc as large as the gap.
func newClash(a, b shape, gap float64) *clash {
	var sets []convexSet
	c := &clash{box: geom.EmptyBox()}
	for _, p := range a.parts {
		for _, q := range b.parts {
			set := newConvexSet(reflectedSum(p, q, gap))
			sets = append(sets, set)
			c.box = c.box.Union(set.box)
		}
	}
	sets = withoutCovered(sets)
	for i := range sets {
		c.addBoundary(sets, i)
	}
	c.outline = len(c.segments)
	c.perCell = geom.Pt(cellsAcross/c.box.Width(), cellsAcross/c.box.Height())
	c.index = make([]uint16, cellsAcross*cellsAcross)
	c.leaves = []leaf{{}} // the first is of cells outside
	all := make([]int, len(sets))
	for i := range all {
		all[i] = i
	}
	near := make([]int, c.outline)
	for i := range near {
		near[i] = i
	}
	c.divide(sets, all, near, 0, 0, cellsAcross)
	return c
}

// reflectedSum is the Minkowski sum of q and p reflected, both convex, and of an
// octagon round a disc.
func reflectedSum(p, q Polygon, disc float64) Polygon {
	sums := make([]geom.Point, 0, len(p)*len(q))
	for _, u := range q {
		for _, v := range p {
			sums = append(sums, u.Sub(v))
		}
	}
	sum := hull(sums)
	if disc == 0 {
		return sum
	}
	const corners = 8
	round := make([]geom.Point, 0, corners*len(sum))
	for i := range corners {
		corner := geom.Polar(disc/math.Cos(math.Pi/corners), (float64(i)+0.5)*2*math.Pi/corners)
		for _, u := range sum {
			round = append(round, u.Add(corner))
		}
	}
	return hull(round)
}

func newConvexSet(ring Polygon) convexSet {
	s := convexSet{box: ring.bounds(), ring: ring}
	for i, u := range ring {
		n := ring[(i+1)%len(ring)].Sub(u).Unit().Left() // outwards: the area is positive
		s.sides = append(s.sides, side{normal: n, reach: n.Dot(u)})
	}
	return s
}

// withoutCovered drops sets that lie wholly in another.
func withoutCovered(sets []convexSet) []convexSet {
	slices.SortStableFunc(sets, func(a, b convexSet) int {
		return cmp.Compare(b.box.Width()*b.box.Height(), a.box.Width()*a.box.Height())
	})
	var kept []convexSet
	for _, s := range sets {
		if !slices.ContainsFunc(kept, func(k convexSet) bool { return k.covers(s) }) {
			kept = append(kept, s)
		}
	}
	return kept
}

func (s *convexSet) covers(o convexSet) bool {
	if o.box.Min.X < s.box.Min.X || o.box.Max.X > s.box.Max.X || o.box.Min.Y < s.box.Min.Y || o.box.Max.Y > s.box.Max.Y {
		return false
	}
	for _, sd := range s.sides {
		for _, p := range o.ring {
			if sd.normal.Dot(p) > sd.reach {
				return false
			}
		}
	}
	return true
}

// touch is how near counts as the same: far more than a rounding, far less than
// anybody can cut.
func (c *clash) touch() float64 { return 1e-9 * (c.box.Width() + c.box.Height()) }

// addBoundary adds what no other set covers of one set's edges.
func (c *clash) addBoundary(sets []convexSet, of int) {
	touch := c.touch()
	ring := sets[of].ring
	for i, u := range ring {
		v := ring[(i+1)%len(ring)]
		length := u.Dist(v)
		if length <= touch {
			continue
		}
		edge := geom.BoxOf(u, v)
		free := [][2]float64{{0, 1}}
		for j := range sets {
			o := &sets[j]
			if j == of || len(free) == 0 || edge.Max.X <= o.box.Min.X || edge.Min.X >= o.box.Max.X ||
				edge.Max.Y <= o.box.Min.Y || edge.Min.Y >= o.box.Max.Y {
				continue
			}
			if from, to := o.span(u, v, touch); from < to {
				free = without(free, from, to)
			}
		}
		along := v.Sub(u).Mul(1 / length)
		for _, f := range free {
			if (f[1]-f[0])*length > 10*touch {
				c.segments = append(c.segments, segment{u.Lerp(v, f[0]), along, (f[1] - f[0]) * length})
			}
		}
	}
}

// span is the part of the way from u to v that lies inside; none of a way that
// runs along a side. Spans of sets that meet on the way meet too.
func (s *convexSet) span(u, v geom.Point, touch float64) (from, to float64) {
	from, to = 0, 1
	for _, sd := range s.sides {
		a, b := sd.normal.Dot(u)-sd.reach, sd.normal.Dot(v)-sd.reach
		switch {
		case a > -touch && b > -touch:
			return 0, 0
		case a > 0:
			from = max(from, a/(a-b)-1e-9)
		case b > 0:
			to = min(to, a/(a-b)+1e-9)
		}
	}
	return from, to
}

// without takes a span out of a list of disjoint ones.
func without(list [][2]float64, from, to float64) [][2]float64 {
	var left [][2]float64
	for _, f := range list {
		if a, b := f[0], min(f[1], from); a < b {
			left = append(left, [2]float64{a, b})
		}
		if a, b := max(f[0], to), f[1]; a < b {
			left = append(left, [2]float64{a, b})
		}
	}
	return left
}

// simpleEnough is how many segments and sides a cell that is divided no further
// may have.
const simpleEnough = 3

// divide makes the leaves of a square of cells. Of its sets and segments only
// those listed matter there.
func (c *clash) divide(sets []convexSet, cutting, near []int, col, row, across int) {
	x, y := c.box.Min.X+float64(col)/c.perCell.X, c.box.Min.Y+float64(row)/c.perCell.Y
	half := geom.Pt(float64(across)/c.perCell.X/2, float64(across)/c.perCell.Y/2)
	centre := geom.Pt(x, y).Add(half)
	reach := half.Norm()
	touch := c.touch()

	var cut []int
	sides := 0
	for _, i := range cutting {
		n, meets := sets[i].cutting(centre, half, touch)
		if !meets {
			continue
		}
		if n == 0 { // it covers the square: no other matters
			cut, sides = []int{i}, 0
			break
		}
		cut = append(cut, i)
		sides += n
	}
	if len(cut) == 0 {
		return // outside: the first leaf
	}
	ways := make([]float64, len(near))
	least := math.Inf(1)
	var out geom.Point
	for n, i := range near {
		w := c.segments[i].outwards(centre)
		if ways[n] = w.Norm(); ways[n] < least {
			least, out = ways[n], w
		}
	}
	var close []int
	for n, i := range near {
		if ways[n] <= least+2*reach {
			close = append(close, i)
		}
	}
	l := leaf{kind: bordering}
	switch {
	case sides == 0 && across <= cellsAcross/16 && least > 3*reach:
		l.kind = wellInside
		l.inward = out.Mul(-1 / least)
		l.reach = l.inward.Dot(centre) - least
		c.fill(l, col, row, across)
		return
	case across > 1 && (len(close) > simpleEnough || sides > simpleEnough):
		h := across / 2
		for _, at := range [4][2]int{{0, 0}, {h, 0}, {0, h}, {h, h}} {
			c.divide(sets, cut, close, col+at[0], row+at[1], h)
		}
		return
	}
	l.segments, l.sides = uint32(len(c.segments)), uint32(len(c.sides))
	for _, i := range close {
		c.segments = append(c.segments, c.segments[i])
	}
	for _, i := range cut {
		first := len(c.sides)
		for _, sd := range sets[i].sides {
			if sd.cuts(centre, half, touch) {
				c.sides = append(c.sides, sd)
			}
		}
		if n := len(c.sides); n > first {
			c.sides[n-1].last = true
		}
	}
	l.segmentsEnd, l.sidesEnd = uint32(len(c.segments)), uint32(len(c.sides))
	c.fill(l, col, row, across)
}

func (c *clash) fill(l leaf, col, row, across int) {
	for r := row; r < row+across; r++ {
		for k := col; k < col+across; k++ {
			c.index[r*cellsAcross+k] = uint16(len(c.leaves))
		}
	}
	c.leaves = append(c.leaves, l)
}

// cutting reports whether a set meets a box, and how many of its sides cut it
// or come as near as touch.
func (s *convexSet) cutting(centre, half geom.Point, touch float64) (sides int, meets bool) {
	if centre.X+half.X <= s.box.Min.X || centre.X-half.X >= s.box.Max.X || centre.Y+half.Y <= s.box.Min.Y || centre.Y-half.Y >= s.box.Max.Y {
		return 0, false
	}
	for _, sd := range s.sides {
		if sd.normal.Dot(centre)-sd.reach >= sd.spread(half) {
			return 0, false
		}
		if sd.cuts(centre, half, touch) {
			sides++
		}
	}
	return sides, true
}

// spread is how far a box reaches along the side's normal from its centre.
func (s side) spread(half geom.Point) float64 {
	return math.Abs(s.normal.X)*half.X + math.Abs(s.normal.Y)*half.Y
}

// cuts reports whether some of a box is outside the side, or all but.
func (s side) cuts(centre, half geom.Point, touch float64) bool {
	return s.normal.Dot(centre)-s.reach+s.spread(half) > -touch
}
