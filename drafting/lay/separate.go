package lay

import (
	"context"
	"math"

	"tapeline/drafting/geom"
)

var (
	farTries   = 20  // places tried anywhere on the strip
	nearTries  = 10  // near where the item lies
	grownMost  = 2.0 // by how much the worst overlap's weight grows in a sweep
	grownLeast = 1.2
	shrunk     = 0.95
	coarse     = 0.02
	fine       = 0.0005
	power      = 1.0
	sizing     = 0.0
)

const refined = 3 // of the best places, how many are bettered

// separate moves overlapping items until none overlaps, and reports whether it
// got there; if not, the lay is left where it overlapped least, and that is
// returned.
func (s *strip) separate(ctx context.Context, patience, strikesMost int) (float64, bool) {
	for i := range s.weights {
		for j := range s.weights[i] {
			s.weights[i][j] = 1
		}
	}
	least := math.Inf(1)
	var incumbent snapshot
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	for strikes := 0; strikes < strikesMost; {
		before := least
		for since := 0; since < patience; {
			s.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
			for _, i := range order {
				it := s.items[i]
				if now := s.overlap(i, it.shape, it.at, math.Inf(1)); now > 0 {
					s.move(i, now)
				}
			}
			total := s.reweigh()
			if total == 0 {
				return 0, true
			}
			since++
			if total < least {
				if total < 0.98*least {
					since = 0
				}
				least = total
				incumbent = s.snapshot()
			}
			if s.over(ctx) {
				break
			}
		}
		if least < 0.98*before {
			strikes = 0
		} else {
			strikes++
		}
		s.restore(incumbent)
		if s.over(ctx) {
			break
		}
	}
	return least, false
}

// reweigh makes lasting overlaps weigh more, and returns the total overlap.
func (s *strip) reweigh() float64 {
	s.overlapping = s.overlapping[:0]
	total, worst := 0.0, 0.0
	for i := range s.items {
		a := &s.items[i]
		row := s.pairs[a.shape]
		for j := range i {
			b := &s.items[j]
			d := row[b.shape].depth(geom.Point{X: a.at.X - b.at.X, Y: a.at.Y - b.at.Y})
			if d <= s.touch {
				w := max(1, s.weights[i][j]*shrunk)
				s.weights[i][j], s.weights[j][i] = w, w
				continue
			}
			s.overlapping = append(s.overlapping, lapping{i, j, d})
			total += d
			worst = max(worst, d)
		}
	}
	for _, p := range s.overlapping {
		w := s.weights[p.i][p.j] * (grownLeast + (grownMost-grownLeast)*p.depth/worst)
		s.weights[p.i][p.j], s.weights[p.j][p.i] = w, w
	}
	return total
}

// lapping is two items that overlap.
type lapping struct {
	i, j  int
	depth float64
}

// spot is a place tried for an item.
type spot struct {
	shape int
	at    geom.Point
	value float64
}

// move looks for the place where an item overlaps least: some tried anywhere,
// some near, and the ways out of what it overlaps; the best are bettered step
// by step.
func (s *strip) move(i int, now float64) {
	it := s.items[i]
	k := s.kinds[it.kind]
	size := s.shapes[it.shape].box
	spread := min(size.Width(), size.Height())
	var best [refined]spot
	for n := range best {
		best[n].value = math.Inf(1)
	}
	try := func(sh int, at geom.Point) {
		at = clampTo(at, s.room(sh))
		v := s.overlap(i, sh, at, best[refined-1].value)
		s.keep(&best, spot{sh, at, v}, 0.05*spread)
	}
	try(it.shape, it.at)
	for range nearTries {
		sh := it.shape
		if k.count > 1 && s.rng.IntN(4) == 0 {
			sh = k.first + s.rng.IntN(k.count)
		}
		r := 0.5 * spread
		try(sh, it.at.Add(geom.Pt((2*s.rng.Float64()-1)*r, (2*s.rng.Float64()-1)*r)))
	}
	for range farTries {
		sh := k.first + s.rng.IntN(k.count)
		b := s.room(sh)
		try(sh, geom.Pt(b.Min.X+s.rng.Float64()*b.Width(), b.Min.Y+s.rng.Float64()*b.Height()))
	}
	top := spot{value: math.Inf(1)}
	for _, b := range best {
		if math.IsInf(b.value, 1) {
			break
		}
		if b = s.better(i, b, 0.25*spread, coarse*spread); b.value < top.value {
			top = b
		}
		if top.value == 0 {
			break
		}
	}
	top = s.better(i, top, coarse*spread, fine*spread)
	if top.value < now {
		s.items[i].shape, s.items[i].at = top.shape, top.at
	}
}

// keep enters a spot among the best. Of those that are almost the same place
// only one is kept.
func (s *strip) keep(best *[refined]spot, a spot, same float64) {
	if a.value >= best[refined-1].value {
		return
	}
	last := refined - 1
	for n := range best {
		if b := &best[n]; b.shape == a.shape && math.Abs(b.at.X-a.at.X) < same && math.Abs(b.at.Y-a.at.Y) < same && !math.IsInf(b.value, 1) {
			if b.value <= a.value {
				return
			}
			last = n
			break
		}
	}
	n := last
	for ; n > 0 && best[n-1].value > a.value; n-- {
		best[n] = best[n-1]
	}
	best[n] = a
}

// better walks downhill from a spot: along the ways out of what is overlapped,
// and in ever smaller steps along random directions.
func (s *strip) better(i int, from spot, stride, end float64) spot {
	room := s.room(from.shape)
	try := func(at geom.Point) bool {
		at = clampTo(at, room)
		if v := s.overlap(i, from.shape, at, from.value); v < from.value {
			from.at, from.value = at, v
			return true
		}
		return false
	}
	for x, y := stride, stride; from.value > 0 && (x > end || y > end); {
		var dx, dy float64
		switch s.rng.IntN(3) {
		case 0:
			dx = x
		case 1:
			dy = y
		default:
			dx, dy = x*diagonal, y*diagonal
			if s.rng.IntN(2) == 0 {
				dy = -dy
			}
		}
		grow := 0.5
		if try(from.at.Add(geom.Point{X: dx, Y: dy})) || try(from.at.Sub(geom.Point{X: dx, Y: dy})) {
			grow = 1.1
		}
		if dx != 0 {
			x *= grow
		}
		if dy != 0 {
			y *= grow
		}
	}
	return from
}

const diagonal = math.Sqrt2 / 2
