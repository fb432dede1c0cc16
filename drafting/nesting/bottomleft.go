package nesting

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
)

// bottomLeft places the items one after another, large ones first, each where
// it reaches least far along the strip, and there as low as possible. It tries
// the positions where an item touches: the corners of its clashes with the
// items placed before, and the points where their edges meet the strip's edges.
// A cancelled context ends it at once; the packing is then useless.
func (s *search) bottomLeft(ctx context.Context) {
	s.length = math.Inf(1)
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(s.kinds[s.items[b].kind].area, s.kinds[s.items[a].kind].area)
	})
	for n, i := range order {
		if cost.Ended(ctx) {
			return
		}
		k := s.kinds[s.items[i].kind]
		reach, lowest := math.Inf(1), math.Inf(1)
		for sh := k.first; sh < k.first+k.count; sh++ {
			at, ok := s.leftmost(ctx, sh, order[:n], reach)
			if r := at.X + s.shapes[sh].box.Max.X; ok && (r < reach-1e-9 || r < reach+1e-9 && at.Y < lowest) {
				reach, lowest = r, at.Y
				s.items[i].shape, s.items[i].at = sh, at
			}
		}
	}
	s.length = s.used()
}

// leftmost returns the position farthest left, then lowest, where a shape
// touches and overlaps none of the placed items. ok is false if the shape would
// reach beyond maxReach everywhere, or ctx has ended.
func (s *search) leftmost(ctx context.Context, sh int, placed []int, maxReach float64) (at geom.Point, ok bool) {
	tries := s.touches(sh, placed, maxReach)
	slices.SortFunc(tries, comparePoints)
	for n, p := range tries {
		if n%64 == 0 && cost.Ended(ctx) {
			return geom.Point{}, false
		}
		overlaps := slices.ContainsFunc(placed, func(j int) bool {
			o := s.items[j]
			return s.pairs[sh][o.shape].depth(p.Sub(o.at)) > s.touch
		})
		if !overlaps {
			return p, true
		}
	}
	return geom.Point{}, false
}

// touches returns the positions on the strip at which a shape touches placed
// items or the strip's edges.
func (s *search) touches(sh int, placed []int, maxReach float64) []geom.Point {
	box := s.shapes[sh].box
	left, low, high := -box.Min.X, -box.Min.Y, s.width-box.Max.Y
	if s.shapes[sh].onEdge {
		high = low
	}
	right := maxReach - box.Max.X
	tries := []geom.Point{geom.Pt(left, low), geom.Pt(left, high)}
	slack := 1e-9 * s.width
	add := func(p geom.Point) {
		if p.X >= left-slack && p.X <= right+slack && p.Y >= low-slack && p.Y <= high+slack {
			tries = append(tries, geom.Pt(max(p.X, left), min(max(p.Y, low), high)))
		}
	}
	for _, j := range placed {
		o := s.items[j]
		p := s.pairs[sh][o.shape]
		for _, g := range p.c.segments[:p.c.outline] {
			a, b := g.from.Mul(p.sign).Add(o.at), g.from.Add(g.along.Mul(g.length)).Mul(p.sign).Add(o.at)
			add(a)
			for _, y := range [2]float64{low, high} {
				if (a.Y-y)*(b.Y-y) < 0 {
					add(a.Lerp(b, (y-a.Y)/(b.Y-a.Y)))
				}
			}
			if (a.X-left)*(b.X-left) < 0 {
				add(a.Lerp(b, (left-a.X)/(b.X-a.X)))
			}
		}
	}
	return tries
}
