package nesting

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
)

// convexSet is one of the convex sets that a clash is the union of.
type convexSet struct {
	box   geom.Box
	ring  Polygon
	sides []side
}

// newClash returns the clash of two shapes that must keep a gap: the union of
// the Minkowski sums of one shape's convex parts reflected, the other's convex
// parts, and a disc with the gap as its radius. The error is that of ctx.
func newClash(ctx context.Context, a, b shape, gap float64) (*clash, error) {
	var sets []convexSet
	c := &clash{box: geom.EmptyBox()}
	for _, p := range a.parts {
		if err := cost.Take(ctx, len(b.parts)*setBytes); err != nil {
			return nil, err
		}
		for _, q := range b.parts {
			set := newConvexSet(reflectedSum(p, q, gap))
			sets = append(sets, set)
			c.box = c.box.Union(set.box)
		}
	}
	sets, err := withoutCovered(ctx, sets)
	if err != nil {
		return nil, err
	}
	for i := range sets {
		if err := cost.Step(ctx); err != nil {
			return nil, err
		}
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
	d := divider{clash: c, sets: sets}
	d.divide(ctx, all, near, square{0, 0, cellsAcross})
	return c, cost.Step(ctx)
}

// reflectedSum returns the Minkowski sum of q, of p reflected, both convex, and
// of an octagon around a disc.
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

// newConvexSet returns the set inside a convex ring of positive area.
func newConvexSet(ring Polygon) convexSet {
	s := convexSet{box: ring.bounds(), ring: ring}
	for i, u := range ring {
		n := ring[(i+1)%len(ring)].Sub(u).Unit().Left() // outwards: the area is positive
		s.sides = append(s.sides, side{normal: n, reach: n.Dot(u)})
	}
	return s
}

// setBytes is about the memory of a convex set with its sides.
const setBytes = 1000

// withoutCovered returns the sets without those that lie wholly in another. The
// error is that of ctx.
func withoutCovered(ctx context.Context, sets []convexSet) ([]convexSet, error) {
	slices.SortStableFunc(sets, func(a, b convexSet) int {
		return cmp.Compare(b.box.Width()*b.box.Height(), a.box.Width()*a.box.Height())
	})
	var kept []convexSet
	for i, s := range sets {
		if i%64 == 0 {
			if err := cost.Step(ctx); err != nil {
				return nil, err
			}
		}
		if !slices.ContainsFunc(kept, func(k convexSet) bool { return k.covers(s) }) {
			kept = append(kept, s)
		}
	}
	return kept, nil
}

// covers reports whether o lies wholly in s.
func (s *convexSet) covers(o convexSet) bool {
	if !s.box.Holds(o.box) {
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

// touch returns the distance within which points count as the same: far more
// than a rounding error, far less than anybody can cut.
func (c *clash) touch() float64 { return 1e-9 * (c.box.Width() + c.box.Height()) }

// addBoundary adds the parts of one set's edges that no other set covers.
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

// span returns the part of the line from u to v that lies inside, as fractions
// of its length; it is empty for a line along a side. The spans of two sets that
// meet on the line meet too.
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

// without returns a list of disjoint spans with one span removed.
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

// maxParts is the number of segments, and of sides, up to which a square of
// cells is not divided further.
const maxParts = 3

// square is a square of cells: the column and row of its first, and the number
// of cells on a side.
type square struct{ col, row, across int }

// quarters divides a square in four.
func (q square) quarters() [4]square {
	h := q.across / 2
	return [4]square{
		{q.col, q.row, h}, {q.col + h, q.row, h}, {q.col, q.row + h, h}, {q.col + h, q.row + h, h},
	}
}

// divider divides the box of a clash into leaves.
type divider struct {
	*clash
	sets []convexSet
}

// divide makes the leaves of a square. sets and near list the sets and segments
// that matter there. It stops once ctx has ended.
func (d *divider) divide(ctx context.Context, sets, near []int, q square) {
	if q.across > 1 && cost.Ended(ctx) {
		return
	}
	half := geom.Pt(float64(q.across)/d.perCell.X/2, float64(q.across)/d.perCell.Y/2)
	corner := geom.Pt(d.box.Min.X+float64(q.col)/d.perCell.X, d.box.Min.Y+float64(q.row)/d.perCell.Y)
	centre := corner.Add(half)
	reach := half.Norm()

	cutting, sides := d.setsMeeting(sets, centre, half)
	if len(cutting) == 0 {
		return // outside: the first leaf
	}
	closest, out := d.closestTo(centre, reach, near)
	depth := out.Norm()
	switch {
	case sides == 0 && q.across <= cellsAcross/16 && depth > 3*reach:
		inward := out.Mul(-1 / depth)
		d.fill(leaf{kind: wellInside, inward: inward, reach: inward.Dot(centre) - depth}, q)
	case q.across > 1 && (len(closest) > maxParts || sides > maxParts):
		for _, quarter := range q.quarters() {
			d.divide(ctx, cutting, closest, quarter)
		}
	default:
		d.fill(d.borderLeaf(cutting, closest, centre, half), q)
	}
}

// setsMeeting returns those of the sets that meet a box, and how many of their
// sides cut it. A set that covers the box makes the others irrelevant.
func (d *divider) setsMeeting(sets []int, centre, half geom.Point) (meeting []int, sides int) {
	touch := d.touch()
	for _, i := range sets {
		n, meets := d.sets[i].cutting(centre, half, touch)
		if !meets {
			continue
		}
		if n == 0 {
			return []int{i}, 0
		}
		meeting = append(meeting, i)
		sides += n
	}
	return meeting, sides
}

// closestTo returns those of the segments that may be the nearest one to a point
// within reach of the centre, and the step from the centre to the nearest.
func (d *divider) closestTo(centre geom.Point, reach float64, segments []int) (closest []int, out geom.Point) {
	distances := make([]float64, len(segments))
	least := math.Inf(1)
	for n, i := range segments {
		w := d.segments[i].outwards(centre)
		if distances[n] = w.Norm(); distances[n] < least {
			least, out = distances[n], w
		}
	}
	for n, i := range segments {
		if distances[n] <= least+2*reach {
			closest = append(closest, i)
		}
	}
	return closest, out
}

// borderLeaf copies the segments and the sides that cut a box into a leaf of
// their own.
func (d *divider) borderLeaf(sets, segments []int, centre, half geom.Point) leaf {
	touch := d.touch()
	l := leaf{kind: bordering, segments: uint32(len(d.segments)), sides: uint32(len(d.sides))}
	for _, i := range segments {
		d.segments = append(d.segments, d.segments[i])
	}
	for _, i := range sets {
		first := len(d.sides)
		for _, sd := range d.sets[i].sides {
			if sd.cuts(centre, half, touch) {
				d.sides = append(d.sides, sd)
			}
		}
		if n := len(d.sides); n > first {
			d.sides[n-1].last = true
		}
	}
	l.segmentsEnd, l.sidesEnd = uint32(len(d.segments)), uint32(len(d.sides))
	return l
}

// fill makes a leaf of a square of cells.
func (c *clash) fill(l leaf, q square) {
	for r := q.row; r < q.row+q.across; r++ {
		for k := q.col; k < q.col+q.across; k++ {
			c.index[r*cellsAcross+k] = uint16(len(c.leaves))
		}
	}
	c.leaves = append(c.leaves, l)
}

// cutting reports whether a set meets a box, and how many of its sides cut the
// box or come within touch of it.
func (s *convexSet) cutting(centre, half geom.Point, touch float64) (sides int, meets bool) {
	if centre.X+half.X <= s.box.Min.X || centre.X-half.X >= s.box.Max.X ||
		centre.Y+half.Y <= s.box.Min.Y || centre.Y-half.Y >= s.box.Max.Y {
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

// spread returns how far a box reaches from its centre along the side's normal.
func (s side) spread(half geom.Point) float64 {
	return math.Abs(s.normal.X)*half.X + math.Abs(s.normal.Y)*half.Y
}

// cuts reports whether a part of a box lies outside the side, or within touch
// of it.
func (s side) cuts(centre, half geom.Point, touch float64) bool {
	return s.normal.Dot(centre)-s.reach+s.spread(half) > -touch
}
