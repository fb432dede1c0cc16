package nesting

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tapeline/drafting/cost"
)

// Parameters of the search, found by experiment on the open instances.
const (
	starts       = 3      // number of starts; the best is continued
	startShare   = 0.15   // share of the budget for each start
	exploreShare = 0.8    // share of the budget for exploring, starts included
	firstCut     = 0.02   // share of the length that exploring removes at first
	exploreCut   = 0.001  // the smallest share that exploring removes
	compressFrom = 0.0005 // share of the length that compressing removes at first
	compressTo   = 0.00001
	patience     = 30 // sweeps without progress before a packing is abandoned
)

// improve shortens the strip while the budget lasts. Most of the budget goes
// into exploring different packings, the rest into compressing the best one.
// Results depend on luck as much as on time, so it starts several times.
func (s *search) improve(ctx context.Context, tries int) {
	plain := s.best
	shortest := plain
	for n := range starts {
		s.best = plain
		s.limit = int(float64(n+1) * startShare * float64(tries))
		s.explore(ctx)
		if s.best.length < shortest.length {
			shortest = s.best
		}
	}
	s.best = shortest
	s.limit = int(exploreShare * float64(tries))
	s.explore(ctx)
	from := s.tries
	s.limit = tries
	s.compress(ctx, from)
}

// done reports whether the search must stop.
func (s *search) done(ctx context.Context) bool { return s.tries >= s.limit || cost.Ended(ctx) }

// attempt is a packing with overlaps that the search could not remove.
type attempt struct {
	overlap float64
	snapshot
}

// explore shortens the strip and separates the items again. If that fails, it
// continues from an earlier attempt, more likely a good one, with two large
// items exchanged.
func (s *search) explore(ctx context.Context) {
	cut := firstCut
	var failed []attempt
	s.restore(s.best)
	s.shorten(s.best.length * (1 - cut))
	for !s.done(ctx) {
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
			at, _ := slices.BinarySearchFunc(failed, overlap, func(a attempt, o float64) int {
				return cmp.Compare(a.overlap, o)
			})
			failed = slices.Insert(failed, at, attempt{overlap, s.snapshot()})
			pick := int(math.Abs(s.rng.NormFloat64()) * 0.25 * float64(len(failed)))
			s.restore(failed[min(pick, len(failed)-1)].snapshot)
			s.exchange()
		}
	}
}

// compress shortens the best packing by smaller and smaller steps.
func (s *search) compress(ctx context.Context, from int) {
	for !s.done(ctx) {
		spent := float64(s.tries-from) / float64(s.limit-from)
		cut := compressFrom * math.Pow(compressTo/compressFrom, spent)
		s.restore(s.best)
		s.shorten(s.best.length * (1 - cut))
		if _, ok := s.separate(ctx); ok {
			s.keepBest()
		}
	}
}

// keepBest records a packing without overlaps, which is shorter than the best.
func (s *search) keepBest() {
	s.length = s.used()
	s.best = s.snapshot()
}

// shorten sets the length of the strip. The items to the right of a random cut
// move left by the difference.
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

// exchange swaps the positions of two large items of different kinds.
func (s *search) exchange() {
	for range 20 {
		x := &s.items[s.large[s.rng.IntN(len(s.large))]]
		y := &s.items[s.large[s.rng.IntN(len(s.large))]]
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
