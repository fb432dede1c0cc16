package nesting

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// How the search goes about it; found by trying on the open instances.
const (
	starts       = 3      // beginnings, of which the best is followed up
	starting     = 0.15   // share of the budget for each of them
	exploring    = 0.8    // share of the budget for finding other ways to lay the items, beginnings included
	firstCut     = 0.02   // share of the length that exploring takes off at first
	exploreCut   = 0.001  // and where that is too much
	compressFrom = 0.0005 // what compressing takes off at first
	compressTo   = 0.00001
	patience     = 30 // sweeps without less overlap before a lay is given up
)

// improve shortens the strip while the budget lasts: for the most part it looks
// for other ways to lay the items, at the end it presses the best one together.
// How far it gets depends on luck as much as on time, so that it begins several
// times.
func (s *search) improve(ctx context.Context, tries int) {
	plain := s.best
	shortest := plain
	for n := range starts {
		s.best = plain
		s.limit = int(float64(n+1) * starting * float64(tries))
		s.explore(ctx)
		if s.best.length < shortest.length {
			shortest = s.best
		}
	}
	s.best = shortest
	s.limit = int(exploring * float64(tries))
	s.explore(ctx)
	from := s.tries
	s.limit = tries
	s.compress(ctx, from)
}

func (s *search) over(ctx context.Context) bool { return s.tries >= s.limit || ctx.Err() != nil }

// attempt is a lay that the search could not make clear.
type attempt struct {
	overlap float64
	snapshot
}

// explore shortens the strip and makes the items clear again. Where it fails it
// goes on from one of the lays it came to, one of the better rather, with two
// large items exchanged.
func (s *search) explore(ctx context.Context) {
	cut := firstCut
	var failed []attempt
	s.restore(s.best)
	s.shorten(s.best.length * (1 - cut))
	for !s.over(ctx) {
		overlap, ok := s.separate(ctx)
		switch {
		case ok:
			s.keepBest()
			s.shorten(s.best.length * (1 - cut))
			failed = nil
		case cut > exploreCut:
			cut = max(cut/3, exploreCut)
			s.restore(s.best)
			s.shorten(s.best.length * (1 - cut))
		default:
			at, _ := slices.BinarySearchFunc(failed, overlap, func(a attempt, o float64) int { return cmp.Compare(a.overlap, o) })
			failed = slices.Insert(failed, at, attempt{overlap, s.snapshot()})
			pick := int(math.Abs(s.rng.NormFloat64()) * 0.25 * float64(len(failed)))
			s.restore(failed[min(pick, len(failed)-1)].snapshot)
			s.exchange()
		}
	}
}

// compress takes ever less off the best lay.
func (s *search) compress(ctx context.Context, from int) {
	for !s.over(ctx) {
		spent := float64(s.tries-from) / float64(s.limit-from)
		cut := compressFrom * math.Pow(compressTo/compressFrom, spent)
		s.restore(s.best)
		s.shorten(s.best.length * (1 - cut))
		if _, ok := s.separate(ctx); ok {
			s.keepBest()
		}
	}
}

// keepBest keeps a lay without overlaps, which is shorter than the best.
func (s *search) keepBest() {
	s.length = s.used()
	s.best = s.snapshot()
}

// shorten takes the strip to a length: what lies right of a random cut moves
// left by what is taken off.
func (s *search) shorten(length float64) {
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

// exchange puts two large items of different kinds in each other's place.
func (s *search) exchange() {
	for range 20 {
		x, y := &s.items[s.large[s.rng.IntN(len(s.large))]], &s.items[s.large[s.rng.IntN(len(s.large))]]
		if x.kind == y.kind {
			continue
		}
		cx, cy := s.shapes[x.shape].box.Centre(), s.shapes[y.shape].box.Centre()
		mx, my := cx.Add(x.at), cy.Add(y.at)
		x.at = clampTo(my.Sub(cx), s.room(x.shape))
		y.at = clampTo(mx.Sub(cy), s.room(y.shape))
		return
	}
}
