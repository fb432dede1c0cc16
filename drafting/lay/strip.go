// Package lay plans how pieces lie on cloth or on a roll: a strip of one width,
// used as short as can be found within a budget.
package lay

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"tapeline/drafting/geom"
)

// Item is a shape to place, once, in one of the turns listed (radians).
type Item struct {
	Outline Polygon
	Turns   []float64
}

// Place is where an item lies: its outline turned about the origin, then
// shifted.
type Place struct {
	Turn float64
	At   geom.Point
}

// Placing is a lay: a place for each item, the strip running along x from 0 and
// lying between y = 0 and its width.
type Placing struct {
	Places []Place
	Length float64
}

// Budget bounds the search.
type Budget struct {
	Tries int    // places tried for an item, about 3 million a second; the same tries give the same lay
	Seed  uint64 // of the search's own sequence of tries
}

// Pack places the items on a strip of the width given. It starts from the
// bottom-left placing and is never longer than that. Then it shortens the strip
// again and again, and each time moves the pieces that overlap to where they
// overlap least, until they are clear; overlaps that last weigh more and more
// (guided local search; the ways of sampling and weighting follow the
// literature on overlap minimisation, for example Umetani et al., 2009, and
// the open heuristic of arXiv 2509.13329). ok is false where an item is wider
// than the strip in all its turns.
//
// The context ends the search early with the best found so far.
func Pack(ctx context.Context, items []Item, width float64, b Budget) (p Placing, ok bool) {
	s := newStrip(items, width, b)
	if s == nil {
		return Placing{}, false
	}
	s.bottomLeft()
	s.best = s.snapshot()
	s.improve(ctx, b.Tries)
	return s.best.placing(s), true
}

// BottomLeft is the plain placing: large items first, each as far left and then
// as low as it goes.
func BottomLeft(items []Item, width float64) (p Placing, ok bool) {
	s := newStrip(items, width, Budget{})
	if s == nil {
		return Placing{}, false
	}
	s.bottomLeft()
	return s.snapshot().placing(s), true
}

// strip is the state of a search.
type strip struct {
	width, length float64
	touch         float64 // an overlap no deeper than this is none
	rng           *rand.Rand

	kinds   []kind  // different items
	sources []Item  // one of each kind
	shapes  []shape // of all kinds, in their turns
	pairs   [][]pairing
	items   []placed
	weights [][]float64

	best        snapshot
	tries       int // places tried so far
	limit       int
	large       []int // items worth exchanging
	overlapping []lapping
}

// kind is one sort of item: its shapes, one for each turn, and those turns.
type kind struct {
	first, count int // into shapes
	turns        []float64
	area         float64
}

// placed is an item's kind and where it lies.
type placed struct {
	kind  int
	shape int
	at    geom.Point
}

func newStrip(items []Item, width float64, b Budget) *strip {
	s := &strip{width: width, touch: 1e-8 * width, rng: rand.New(rand.NewPCG(b.Seed, 0x1a4))}
	slack := 1e-9 * width
	for _, it := range items {
		k := s.kindOf(it)
		if k < 0 {
			added := kind{first: len(s.shapes), area: it.Outline.Area()}
			for _, turn := range it.Turns {
				sh := newShape(it.Outline.clean().turned(turn))
				if sh.box.Height() <= width+slack {
					s.shapes = append(s.shapes, sh)
					added.turns = append(added.turns, turn)
					added.count++
				}
			}
			if added.count == 0 {
				return nil
			}
			k = len(s.kinds)
			s.kinds = append(s.kinds, added)
			s.sources = append(s.sources, it)
		}
		s.items = append(s.items, placed{kind: k, shape: s.kinds[k].first})
	}
	s.pairUp()
	s.weights = make([][]float64, len(s.items))
	for i := range s.weights {
		s.weights[i] = make([]float64, len(s.items))
	}
	s.pickLarge()
	return s
}

// pickLarge lists the items whose convex hulls make up the larger part of all.
func (s *strip) pickLarge() {
	all := make([]int, len(s.items))
	total := 0.0
	for i := range s.items {
		all[i] = i
		total += s.kinds[s.items[i].kind].area
	}
	slices.SortStableFunc(all, func(a, b int) int {
		return cmp.Compare(s.kinds[s.items[b].kind].area, s.kinds[s.items[a].kind].area)
	})
	sum := 0.0
	for _, i := range all {
		s.large = append(s.large, i)
		if sum += s.kinds[s.items[i].kind].area; sum > 0.75*total {
			break
		}
	}
}

// kindOf finds an item among those already known, -1 if it is new.
func (s *strip) kindOf(it Item) int {
	return slices.IndexFunc(s.sources, func(o Item) bool {
		return slices.Equal(o.Outline, it.Outline) && slices.Equal(o.Turns, it.Turns)
	})
}

// room is the range of places that keep a shape on the strip.
func (s *strip) room(sh int) geom.Box {
	b := s.shapes[sh].box
	return geom.Box{Min: b.Min.Neg(), Max: geom.Pt(math.Max(s.length-b.Max.X, -b.Min.X), math.Max(s.width-b.Max.Y, -b.Min.Y))}
}

func clampTo(p geom.Point, b geom.Box) geom.Point {
	return geom.Pt(min(max(p.X, b.Min.X), b.Max.X), min(max(p.Y, b.Min.Y), b.Max.Y))
}

// pairing is the clash of two shapes as seen from the first.
type pairing struct {
	box  geom.Box
	c    *clash
	sign float64 // -1 where the clash is stored for the second, or for both turned
}

func (p *pairing) depth(d geom.Point) float64 {
	if d.X <= p.box.Min.X || d.X >= p.box.Max.X || d.Y <= p.box.Min.Y || d.Y >= p.box.Max.Y {
		return 0
	}
	return p.c.depth(geom.Point{X: p.sign * d.X, Y: p.sign * d.Y})
}

// pairUp makes the clashes. Seen from the second shape, or with both turned by
// 180°, a clash is the same one reflected in the origin; so one serves up to
// four pairs of shapes.
func (s *strip) pairUp() {
	half := make([]int, len(s.shapes)) // of each shape: the one turned by 180°, or -1
	for _, k := range s.kinds {
		for i, t := range k.turns {
			at := slices.IndexFunc(k.turns, func(u float64) bool { return math.Abs(math.Abs(t-u)-math.Pi) < 1e-9 })
			if half[k.first+i] = -1; at >= 0 {
				half[k.first+i] = k.first + at
			}
		}
	}
	s.pairs = make([][]pairing, len(s.shapes))
	for a := range s.pairs {
		s.pairs[a] = make([]pairing, len(s.shapes))
	}
	set := func(a, b int, c *clash, sign float64) {
		box := c.box
		if sign < 0 {
			box = geom.Box{Min: box.Max.Neg(), Max: box.Min.Neg()}
		}
		s.pairs[a][b] = pairing{box, c, sign}
	}
	for a := range s.shapes {
		for b := range s.shapes {
			if s.pairs[a][b].c != nil {
				continue
			}
			c := newClash(s.shapes[a], s.shapes[b])
			if ha, hb := half[a], half[b]; ha >= 0 && hb >= 0 {
				set(hb, ha, c, 1)
				set(ha, hb, c, -1)
			}
			set(b, a, c, -1)
			set(a, b, c, 1)
		}
	}
}

// overlap is what an item would overlap the others by, weighted, in a shape and
// place; the sum stops once it passes enough.
func (s *strip) overlap(i, sh int, at geom.Point, enough float64) float64 {
	s.tries++
	sum := 0.0
	row, w := s.pairs[sh], s.weights[i]
	for j := range s.items {
		o := &s.items[j]
		p := &row[o.shape]
		x, y := at.X-o.at.X, at.Y-o.at.Y
		if x <= p.box.Min.X || x >= p.box.Max.X || y <= p.box.Min.Y || y >= p.box.Max.Y || j == i {
			continue
		}
		if d := p.c.depth(geom.Point{X: p.sign * x, Y: p.sign * y}); d > s.touch {
			if sum += d * w[j]; sum >= enough {
				return sum
			}
		}
	}
	return sum
}

// snapshot keeps a lay.
type snapshot struct {
	length float64
	items  []placed
}

func (s *strip) snapshot() snapshot { return snapshot{s.length, slices.Clone(s.items)} }

func (s *strip) restore(k snapshot) {
	s.length = k.length
	copy(s.items, k.items)
}

func (k snapshot) placing(s *strip) Placing {
	p := Placing{Length: k.length}
	for _, it := range k.items {
		kind := s.kinds[it.kind]
		p.Places = append(p.Places, Place{Turn: kind.turns[it.shape-kind.first], At: it.at})
	}
	return p
}

// used is how far the items reach along the strip.
func (s *strip) used() float64 {
	used := 0.0
	for _, it := range s.items {
		used = max(used, it.at.X+s.shapes[it.shape].box.Max.X)
	}
	return used
}
