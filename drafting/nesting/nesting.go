// Package nesting packs outlines on a strip of one width, cloth or a roll of
// paper, so that they use as little of its length as a search finds.
package nesting

import (
	"context"
	"errors"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
)

// Item is an outline to place once.
type Item struct {
	Outline  Polygon
	Turns    []float64 // the turns allowed, radians
	Mirrored bool      // the item may also lie face down
	OnEdge   bool      // the item's lower edge lies on the strip's, y = 0: the fold of the cloth
}

// Placement is where an item lies: its outline is mirrored in the x axis if it
// lies face down, then turned about the origin, then shifted.
type Placement struct {
	Mirrored bool
	Turn     float64
	At       geom.Point
}

// Packing places every item. The strip runs along x from 0 and lies between
// y = 0 and its width.
type Packing struct {
	Placements []Placement // in the order of the items
	Length     float64
	BottomLeft float64 // the length of the bottom-left packing, from which the search starts
}

// Strip is the strip that the items are placed on.
type Strip struct {
	Width float64
	Gap   float64 // the smallest distance between two items; the strip's edges need none
}

// Budget limits the search. It counts steps instead of time, so that the same
// budget gives the same packing on every machine. The zero Budget gives the
// bottom-left packing.
type Budget struct {
	Tries int    // positions tried for an item, about 2 to 5 million a second
	Seed  uint64 // of the search's own random sequence
}

// ErrTooWide reports an item that is wider than the strip in every way it may
// lie.
var ErrTooWide = errors.New("an item is wider than the strip")

// Pack places the items on a strip. It starts from the bottom-left packing and
// never returns a longer one. It then shortens the strip again and again, and
// each time moves the items that overlap to where they overlap least, until
// none overlaps; overlaps that last weigh more and more (guided local search;
// the ways of sampling and weighting follow the literature on overlap
// minimisation, for example Imamichi et al., 2009, Umetani et al., 2009, and
// the open heuristic of arXiv 2509.13329).
//
// The error is ErrTooWide, or the context's once it is cancelled.
func Pack(ctx context.Context, items []Item, on Strip, b Budget) (Packing, error) {
	s, err := newSearch(ctx, items, on, b)
	if err != nil {
		return Packing{}, err
	}
	s.bottomLeft(ctx)
	s.best = s.snapshot()
	plain := s.length
	s.improve(ctx, b.Tries)
	if err := cost.Step(ctx); err != nil {
		return Packing{}, err
	}
	p := s.best.packing(s)
	p.BottomLeft = plain
	return p, nil
}
