package lay

import (
	"context"
	"math"
	"slices"
)

// How the search goes about it; found by trying on the open instances.
var (
	firstCut     = 0.02  // share of the length taken off at first
	exploreCut   = 0.001 // while exploring
	compressFrom = 0.0005
	compressTo   = 0.00001
	exploring    = 0.8 // share of the budget
	patience     = 100 // sweeps without less overlap before a strike
	strikesMost  = 3
)

// improve shortens the strip while the budget lasts: for the most part it looks
// for other ways to lay the items, at the end it presses the best one together.
func (s *strip) improve(ctx context.Context, tries int) {
	s.limit = int(exploring * float64(tries))
	s.explore(ctx)
	from := s.tries
	s.limit = tries
	s.compress(ctx, from)
}

func (s *strip) over(ctx context.Context) bool { return s.tries >= s.limit || ctx.Err() != nil }

// attempt is a lay at which the search gave up.
type attempt struct {
	overlap float64
	snapshot
}

// explore shortens the strip and makes the items clear again. Where it fails it
// goes on from one of the lays it came to, two large items exchanged.
func (s *strip) explore(ctx context.Context) {
	cut := firstCut
	var failed []attempt
	s.restore(s.best)
	s.shorten(s.best.length * (1 - cut))
	for !s.over(ctx) {
		overlap, ok := s.separate(ctx, patience, strikesMost)
		switch {
		case ok:
			s.length = s.used()
			s.best = s.snapshot()
			s.shorten(s.best.length * (1 - cut))
			failed = nil
		case cut > exploreCut:
			cut = max(cut/3, exploreCut)
			s.restore(s.best)
			s.shorten(s.best.length * (1 - cut))
		default:
			at, _ := slices.BinarySearchFunc(failed, overlap, func(a attempt, o float64) int {
				if a.overlap < o {
					return -1
				}
				return 1
			})
			failed = slices.Insert(failed, at, attempt{overlap, s.snapshot()})
			pick := int(math.Abs(s.rng.NormFloat64()) * 0.25 * float64(len(failed)))
			s.restore(failed[min(pick, len(failed)-1)].snapshot)
			s.swapTwo()
		}
	}
}

// compress takes ever less off the best lay.
func (s *strip) compress(ctx context.Context, from int) {
	for !s.over(ctx) {
		t := float64(s.tries-from) / float64(s.limit-from)
		cut := compressFrom * math.Pow(compressTo/compressFrom, t)
		s.restore(s.best)
		s.shorten(s.best.length * (1 - cut))
		if _, ok := s.separate(ctx, patience/2, strikesMost); ok {
			s.length = s.used()
			s.best = s.snapshot()
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
		if it.at.X+s.shapes[it.shape].box.Centre().X > at {
			it.at.X -= off
		}
		it.at = clampTo(it.at, s.room(it.shape))
	}
}

// swapTwo exchanges the places of two large items of different kinds.
func (s *strip) swapTwo() {
	large := s.large
	for range 20 {
		a, b := large[s.rng.IntN(len(large))], large[s.rng.IntN(len(large))]
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
