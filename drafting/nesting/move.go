package nesting

import (
	"math"

	"tapeline/drafting/geom"
)

// Parameters of moving an item: numbers of positions tried, and distances as
// shares of the item's shorter side.
const (
	farTries   = 20 // anywhere on the strip
	touchTries = 10 // touching another item
	nearTries  = 10 // near the present position
	refined    = 3  // of the best positions, the number that is refined

	nearReach  = 0.5
	sameReach  = 0.05
	firstStep  = 0.25
	coarseStep = 0.02
	fineStep   = 0.0005
)

// spot is a position tried for an item.
type spot struct {
	shape int
	at    geom.Point
	value float64 // the weighted overlap there
}

// move moves an item to the position found where it overlaps least. It tries
// positions near the present one, touching another item, and anywhere, and
// refines the best. now is the item's present overlap.
func (s *search) move(i int, now float64) {
	it := s.items[i]
	k := s.kinds[it.kind]
	box := s.shapes[it.shape].box
	side := min(box.Width(), box.Height())
	anyShape := func() int { return k.first + s.rng.IntN(k.count) }
	between := func(lo, hi float64) float64 { return lo + s.rng.Float64()*(hi-lo) }
	var best shortlist
	for n := range best {
		best[n].value = math.Inf(1)
	}
	try := func(sh int, at geom.Point) {
		if v := s.overlap(i, sh, at, best[refined-1].value); v < best[refined-1].value {
			best.enter(spot{sh, at, v}, sameReach*side)
		}
	}
	try(it.shape, it.at)
	for range nearTries {
		sh := it.shape
		if s.rng.IntN(4) == 0 {
			sh = anyShape()
		}
		r := nearReach * side
		try(sh, clampTo(it.at.Add(geom.Pt(between(-r, r), between(-r, r))), s.room(sh)))
	}
	for range touchTries {
		sh, j := anyShape(), s.rng.IntN(len(s.items))
		if at := s.touching(sh, j); j != i && s.room(sh).Contains(at) {
			try(sh, at)
		}
	}
	for range farTries {
		sh := anyShape()
		b := s.room(sh)
		try(sh, geom.Pt(between(b.Min.X, b.Max.X), between(b.Min.Y, b.Max.Y)))
	}
	top := spot{value: math.Inf(1)}
	for _, b := range best {
		if math.IsInf(b.value, 1) || top.value == 0 {
			break
		}
		if b = s.refine(i, b, firstStep*side, coarseStep*side); b.value < top.value {
			top = b
		}
	}
	if top = s.refine(i, top, coarseStep*side, fineStep*side); top.value < now {
		s.items[i].shape, s.items[i].at = top.shape, top.at
	}
}

// touching returns a random position where a shape just touches an item: the
// best positions are of this kind.
func (s *search) touching(sh, j int) geom.Point {
	o := &s.items[j]
	p := &s.pairs[sh][o.shape]
	g := &p.c.segments[s.rng.IntN(p.c.outline)]
	return o.at.Add(g.from.Add(g.along.Mul(s.rng.Float64() * g.length)).Mul(p.sign))
}

// shortlist holds the best spots, best first.
type shortlist [refined]spot

// enter adds a spot that is better than the last on the list. Of spots that are
// almost the same only one stays.
func (l *shortlist) enter(a spot, same float64) {
	last := refined - 1
	for n, b := range l {
		if b.shape == a.shape && !math.IsInf(b.value, 1) &&
			math.Abs(b.at.X-a.at.X) < same && math.Abs(b.at.Y-a.at.Y) < same {
			if b.value <= a.value {
				return
			}
			last = n
			break
		}
	}
	for ; last > 0 && l[last-1].value > a.value; last-- {
		l[last] = l[last-1]
	}
	l[last] = a
}

// refine walks downhill from a spot, along the strip, across it or diagonally,
// by steps that grow while they help and halve when they do not, until they are
// shorter than end.
func (s *search) refine(i int, from spot, step, end float64) spot {
	room := s.room(from.shape)
	near := nearby{middle: from.at, reach: 2 * step}
	s.findNear(i, from.shape, &near)
	try := func(dx, dy float64) bool {
		at := clampTo(geom.Point{X: from.at.X + dx, Y: from.at.Y + dy}, room)
		if !near.covers(at) {
			near.middle = at
			s.findNear(i, from.shape, &near)
		}
		v := s.overlapNear(i, from.shape, at, from.value)
		if v < from.value {
			from.at, from.value = at, v
			return true
		}
		return false
	}
	for x, y := step, step; from.value > 0 && (x > end || y > end); {
		dx, dy := x, y
		switch s.rng.IntN(4) {
		case 0:
			dy = 0
		case 1:
			dx = 0
		case 2:
			dx, dy = dx*math.Sqrt2/2, dy*math.Sqrt2/2
		default:
			dx, dy = dx*math.Sqrt2/2, -dy*math.Sqrt2/2
		}
		change := 0.5
		if try(dx, dy) || try(-dx, -dy) {
			change = 1.1
		}
		if dx != 0 {
			x *= change
		}
		if dy != 0 {
			y *= change
		}
	}
	return from
}

// nearby is a square around a position; s.near lists the items that an item may
// overlap in it.
type nearby struct {
	middle geom.Point
	reach  float64
}

func (n *nearby) covers(p geom.Point) bool {
	return math.Abs(p.X-n.middle.X) <= n.reach && math.Abs(p.Y-n.middle.Y) <= n.reach
}

// findNear lists in s.near the items that an item may overlap nearby.
func (s *search) findNear(i, sh int, n *nearby) {
	s.near = s.near[:0]
	row := s.pairs[sh]
	for j := range s.items {
		o := &s.items[j]
		b := &row[o.shape].box
		x, y := n.middle.X-o.at.X, n.middle.Y-o.at.Y
		if x > b.Min.X-n.reach && x < b.Max.X+n.reach && y > b.Min.Y-n.reach && y < b.Max.Y+n.reach && j != i {
			s.near = append(s.near, j)
		}
	}
}
