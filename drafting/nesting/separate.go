package nesting

import (
	"context"
	"math"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
)

// Factors by which the weight of an overlap changes in each sweep.
const (
	maxGrowth = 2.0 // of the worst overlap
	minGrowth = 1.2 // of the mildest overlap
	shrinkage = 0.95
)

// separate moves overlapping items until none overlaps, and reports whether it
// succeeded. Otherwise it restores the state that overlapped least and returns
// its overlap.
func (s *search) separate(ctx context.Context) (overlap float64, ok bool) {
	for i := range s.weights {
		for j := range s.weights[i] {
			s.weights[i][j] = 1
		}
	}
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	least := math.Inf(1)
	var clearest snapshot
	for since := 0; since < patience; since++ {
		s.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, i := range order {
			if cost.Ended(ctx) {
				return least, false
			}
			it := s.items[i]
			if now := s.overlap(i, it.shape, it.at, math.Inf(1)); now > 0 {
				s.move(i, now)
			}
		}
		total := s.reweigh()
		if total == 0 {
			return 0, true
		}
		if total < least {
			if total < 0.98*least {
				since = 0
			}
			least, clearest = total, s.snapshot()
		}
		if s.done(ctx) {
			break
		}
	}
	s.restore(clearest)
	return least, false
}

// overlapping is a pair of items that overlap.
type overlapping struct {
	i, j    int
	badness float64
}

// reweigh increases the weights of overlaps that last, and returns the sum of
// all overlaps.
func (s *search) reweigh() float64 {
	s.overlaps = s.overlaps[:0]
	total, worst := 0.0, 0.0
	for i := range s.items {
		a := &s.items[i]
		row := s.pairs[a.shape]
		for j := range i {
			b := &s.items[j]
			p := &row[b.shape]
			depth := p.depth(geom.Point{X: a.at.X - b.at.X, Y: a.at.Y - b.at.Y})
			if depth <= s.touch {
				w := max(1, s.weights[i][j]*shrinkage)
				s.weights[i][j], s.weights[j][i] = w, w
				continue
			}
			bad := p.badness(depth)
			s.overlaps = append(s.overlaps, overlapping{i, j, bad})
			total += bad
			worst = max(worst, bad)
		}
	}
	for _, o := range s.overlaps {
		w := s.weights[o.i][o.j] * (minGrowth + (maxGrowth-minGrowth)*o.badness/worst)
		s.weights[o.i][o.j], s.weights[o.j][o.i] = w, w
	}
	return total
}
