// Package nesting packs pieces on a strip of one width, cloth or a roll of paper,
// used as short as can be found within a budget.
package nesting

import (
	"context"

	"tapeline/drafting/geom"
)

// Item is a shape to place, once.
type Item struct {
	Outline  Polygon
	Turns    []float64 // the turns it may lie in, radians
	Mirrored bool      // it may be laid on its face as well
	OnEdge   bool      // its lower edge lies on the strip's, y = 0: the fold of the cloth
}

// Place is where an item lies: its outline mirrored in the x axis if it lies on
// its face, then turned about the origin, then shifted.
type Place struct {
	Mirrored bool
	Turn     float64
	At       geom.Point
}

// Outline is the item's outline where it lies.
func (p Place) Outline(item Polygon) Polygon {
	q := item.way(p.Mirrored, p.Turn)
	for i := range q {
		q[i] = q[i].Add(p.At)
	}
	return q
}

// Placing is a lay: a place for each item, the strip running along x from 0 and
// lying between y = 0 and its width.
type Placing struct {
	Places []Place
	Length float64
	Plain  float64 // the length of the bottom-left placing
}

// Strip is what the items are laid on.
type Strip struct {
	Width float64
	Gap   float64 // the least distance between two items; none is kept to the strip's edges
}

// Budget bounds the search. It is counted, not timed, so that the same budget
// gives the same lay on every machine.
type Budget struct {
	Tries int    // places tried for an item, about 2 to 5 millions a second
	Seed  uint64 // of the search's own sequence of tries
}

// Pack places the items on a strip. It starts from the bottom-left placing and
// is never longer than that. Then it shortens the strip again and again, and
// each time moves the pieces that overlap to where they overlap least, until
// they are clear; overlaps that last weigh more and more (guided local search;
// the ways of sampling and weighting follow the literature on overlap
// minimisation, for example Imamichi et al., 2009, Umetani et al., 2009, and
// the open heuristic of arXiv 2509.13329). ok is false where an item is wider
// than the strip however it lies.
//
// The context ends the search early with the best found so far.
func Pack(ctx context.Context, items []Item, on Strip, b Budget) (p Placing, ok bool) {
	s := newSearch(items, on, b)
	if s == nil {
		return Placing{}, false
	}
	s.bottomLeft()
	s.best = s.snapshot()
	plain := s.length
	s.improve(ctx, b.Tries)
	p = s.best.placing(s)
	p.Plain = plain
	return p, true
}

// BottomLeft is the plain placing: large items first, each as far left and then
// as low as it goes.
func BottomLeft(items []Item, on Strip) (p Placing, ok bool) {
	s := newSearch(items, on, Budget{})
	if s == nil {
		return Placing{}, false
	}
	s.bottomLeft()
	p = s.snapshot().placing(s)
	p.Plain = p.Length
	return p, true
}
