package nesting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// bottomLeft places the items one after another, large ones first, each where
// it reaches least far along the strip, and there as low as it goes. An item is
// tried where it touches: at the corners of its clashes with those that lie
// already, and where their edges meet the strip's edges.
func (s *search) bottomLeft() {
	s.length = math.Inf(1)
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch ka, kb := s.kinds[s.items[a].kind].area, s.kinds[s.items[b].kind].area; {
		case ka > kb:
			return -1
		case ka < kb:
			return 1
		}
		return 0
	})
	for n, i := range order {
		k := s.kinds[s.items[i].kind]
		reach, lowest := math.Inf(1), math.Inf(1)
		for sh := k.first; sh < k.first+k.count; sh++ {
			at, ok := s.leftmost(sh, order[:n], reach)
			if r := at.X + s.shapes[sh].box.Max.X; ok && (r < reach-1e-9 || r < reach+1e-9 && at.Y < lowest) {
				reach, lowest = r, at.Y
				s.items[i].shape, s.items[i].at = sh, at
			}
		}
	}
	s.length = s.used()
}

// leftmost is the place farthest left, then lowest, where a shape touches and
// overlaps nothing that lies already; none where it would reach beyond most.
func (s *search) leftmost(sh int, lying []int, most float64) (geom.Point, bool) {
	box := s.shapes[sh].box
	left, low, high := -box.Min.X, -box.Min.Y, s.width-box.Max.Y
	if s.shapes[sh].onEdge {
		high = low
	}
	right := most - box.Max.X
	tries := []geom.Point{geom.Pt(left, low), geom.Pt(left, high)}
	slack := 1e-9 * s.width
	add := func(p geom.Point) {
		if p.X >= left-slack && p.X <= right+slack && p.Y >= low-slack && p.Y <= high+slack {
			tries = append(tries, geom.Pt(max(p.X, left), min(max(p.Y, low), high)))
		}
	}
	for _, j := range lying {
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
	slices.SortFunc(tries, func(a, b geom.Point) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
search:
	for _, p := range tries {
		for _, j := range lying {
			o := s.items[j]
			if s.pairs[sh][o.shape].depth(p.Sub(o.at)) > s.touch {
				continue search
			}
		}
		return p, true
	}
	return geom.Point{}, false
}
