package lay

import (
	"context"
	"math"

	"tapeline/drafting/geom"
)

// How the search goes about it; found by trying on the open instances.
const (
	firstCut   = 0.04 // share of the length taken off at first
	leastCut   = 0.0004
	farTries   = 14  // places tried anywhere on the strip
	nearTries  = 8   // near where the item lies
	refined    = 3   // of the best, how many are bettered
	patience   = 40  // sweeps without less overlap before a state is given up
	grownMost  = 2.0 // by how much the worst overlap's weight grows in a sweep
	grownLeast = 1.2
	shrunk     = 0.95
)

// improve shortens the strip while the budget lasts.
func (s *strip) improve(ctx context.Context, rounds int) {
	cut := firstCut
	for s.rounds < rounds && ctx.Err() == nil && cut > leastCut/4 {
		s.restore(s.best)
		s.shorten(s.best.length * (1 - cut))
		if s.rng.IntN(3) == 0 && len(s.items) > 2 {
			s.swapTwo()
		}
		if s.separate(ctx, rounds) {
			s.length = s.used()
			s.best = s.snapshot()
			cut = min(cut*1.1, firstCut)
		} else {
			cut = max(cut*0.6, leastCut)
		}
	}
}

// shorten takes the strip to a length: what lies right of a random cut moves
// left by what is taken off.
func (s *strip) shorten(length float64) {
	off := s.length - length
	at := s.rng.Float64() * length
	s.length = length
	for i := range s.items {
		it := &s.items[i]
		if it.at.X > at {
			it.at.X -= off
		}
		it.at = clampTo(it.at, s.room(it.shape))
	}
}

// swapTwo exchanges the places of two large items of different kinds.
func (s *strip) swapTwo() {
	a := s.rng.IntN(len(s.items))
	for range 10 {
		b := s.rng.IntN(len(s.items))
		x, y := &s.items[a], &s.items[b]
		if x.kind == y.kind {
			continue
		}
		ca, cb := s.shapes[x.shape].box.Centre().Add(x.at), s.shapes[y.shape].box.Centre().Add(y.at)
		x.at = clampTo(cb.Sub(s.shapes[x.shape].box.Centre()), s.room(x.shape))
		y.at = clampTo(ca.Sub(s.shapes[y.shape].box.Centre()), s.room(y.shape))
		return
	}
}

// separate moves overlapping items until none overlaps, and reports whether it
// got there.
func (s *strip) separate(ctx context.Context, rounds int) bool {
	for i := range s.weights {
		for j := range s.weights[i] {
			s.weights[i][j] = 1
		}
	}
	least, since := math.Inf(1), 0
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	for since < patience {
		s.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, i := range order {
			it := s.items[i]
			if now := s.overlap(i, it.shape, it.at, math.Inf(1)); now > 0 {
				s.move(i, now)
				s.rounds++
			}
		}
		total := s.reweigh()
		if total == 0 {
			return true
		}
		if total < least*0.98 {
			least, since = total, 0
		} else {
			since++
		}
		if s.rounds >= rounds || ctx.Err() != nil {
			return false
		}
	}
	return false
}

// reweigh makes lasting overlaps weigh more, and returns the total overlap.
func (s *strip) reweigh() float64 {
	type pair struct {
		i, j int
		d    float64
	}
	var pairs [4096]pair
	overlapping := pairs[:0]
	total, worst := 0.0, 0.0
	for i := range s.items {
		for j := range i {
			a, b := &s.items[i], &s.items[j]
			d := s.clashes[a.shape][b.shape].depth(a.at.Sub(b.at))
			if d <= 0 {
				w := max(1, s.weights[i][j]*shrunk)
				s.weights[i][j], s.weights[j][i] = w, w
				continue
			}
			overlapping = append(overlapping, pair{i, j, d})
			total += d
			worst = max(worst, d)
		}
	}
	for _, p := range overlapping {
		w := s.weights[p.i][p.j] * (grownLeast + (grownMost-grownLeast)*p.d/worst)
		s.weights[p.i][p.j], s.weights[p.j][p.i] = w, w
	}
	return total
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
	var best [refined]spot
	for n := range best {
		best[n].value = math.Inf(1)
	}
	try := func(sh int, at geom.Point) {
		at = clampTo(at, s.room(sh))
		v := s.overlap(i, sh, at, best[refined-1].value)
		for n := range best {
			if v < best[n].value {
				copy(best[n+1:], best[n:refined-1])
				best[n] = spot{sh, at, v}
				break
			}
		}
	}
	try(it.shape, it.at)
	for range farTries {
		sh := k.first + s.rng.IntN(k.count)
		b := s.room(sh)
		try(sh, geom.Pt(b.Min.X+s.rng.Float64()*b.Width(), b.Min.Y+s.rng.Float64()*b.Height()))
	}
	size := s.shapes[it.shape].box
	spread := 0.25 * max(size.Width(), size.Height())
	for range nearTries {
		sh := it.shape
		if k.count > 1 && s.rng.IntN(4) == 0 {
			sh = k.first + s.rng.IntN(k.count)
		}
		try(sh, it.at.Add(geom.Pt(s.rng.NormFloat64()*spread, s.rng.NormFloat64()*spread)))
	}
	for j := range s.items {
		o := &s.items[j]
		if j == i {
			continue
		}
		c := &s.clashes[it.shape][o.shape]
		if d := it.at.Sub(o.at); c.depth(d) > 0 {
			try(it.shape, it.at.Add(c.wayOut(d).Mul(1+1e-9)))
		}
	}
	for n := range best {
		if math.IsInf(best[n].value, 1) {
			break
		}
		best[n] = s.better(i, best[n], spread)
		if best[n].value == 0 {
			best[0] = best[n]
			break
		}
		if best[n].value < best[0].value {
			best[0] = best[n]
		}
	}
	if best[0].value < now {
		s.items[i].shape, s.items[i].at = best[0].shape, best[0].at
	}
}

// better walks downhill from a spot: along the ways out of what is overlapped,
// and in ever smaller steps along random directions.
func (s *strip) better(i int, from spot, spread float64) spot {
	room := s.room(from.shape)
	for stride := 0.3 * spread; stride > 1e-5*spread && from.value > 0; {
		before := from.value
		for j := range s.items {
			o := &s.items[j]
			if j == i {
				continue
			}
			c := &s.clashes[from.shape][o.shape]
			d := from.at.Sub(o.at)
			if c.depth(d) <= 0 {
				continue
			}
			at := clampTo(from.at.Add(c.wayOut(d).Mul(1+1e-9)), room)
			if v := s.overlap(i, from.shape, at, from.value); v < from.value {
				from.at, from.value = at, v
			}
		}
		angle := s.rng.Float64() * math.Pi
		for range 2 {
			step := geom.Polar(stride, angle)
			for _, at := range [2]geom.Point{from.at.Add(step), from.at.Sub(step)} {
				at = clampTo(at, room)
				if v := s.overlap(i, from.shape, at, from.value); v < from.value {
					from.at, from.value = at, v
					break
				}
			}
			angle += math.Pi / 2
		}
		// Creeping is not worth the while.
		if from.value > 0.95*before {
			stride /= 2.5
		}
	}
	return from
}
