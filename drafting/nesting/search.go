package nesting

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"tapeline/drafting/geom"
)

// search is the state of a search for a packing.
type search struct {
	width, length float64
	gap           float64
	touch         float64 // a shallower overlap counts as none
	unit          float64 // the mean of the square roots of the items' areas
	rng           *rand.Rand

	kinds  []kind  // the different items
	shapes []shape // of all kinds, one for each way they may lie
	pairs  [][]pairing
	items  []placed
	large  []int // the items worth exchanging

	weights  [][]float64
	near     []int         // the items that findNear found
	overlaps []overlapping // of the last sweep

	best  snapshot
	tries int // positions tried so far
	limit int // of tries
}

// kind is a set of equal items. Its shapes are one for each way they may lie.
type kind struct {
	item         Item
	first, count int // into shapes
	area         float64
}

// placed is an item and its position.
type placed struct {
	kind  int
	shape int
	at    geom.Point
}

// slackShare is the share of its width by which a strip may be overfull: less
// than anybody can see, more than rounding errors.
const slackShare = 1e-9

// newSearch prepares a search. The error is ErrTooWide or the context's.
func newSearch(ctx context.Context, items []Item, on Strip, b Budget) (*search, error) {
	s := &search{
		width: on.Width, gap: on.Gap,
		touch: 10 * slackShare * on.Width,
		rng:   rand.New(rand.NewPCG(b.Seed, 0x1a4)),
	}
	for _, it := range items {
		k := slices.IndexFunc(s.kinds, func(k kind) bool { return k.item.same(it) })
		if k < 0 {
			added := kind{item: it, first: len(s.shapes), area: it.Outline.Area()}
			s.addShapes(it)
			if added.count = len(s.shapes) - added.first; added.count == 0 {
				return nil, ErrTooWide
			}
			k = len(s.kinds)
			s.kinds = append(s.kinds, added)
		}
		s.items = append(s.items, placed{kind: k, shape: s.kinds[k].first})
		s.unit += math.Sqrt(s.kinds[k].area) / float64(len(items))
	}
	if err := s.pairUp(ctx); err != nil {
		return nil, err
	}
	s.weights = make([][]float64, len(s.items))
	for i := range s.weights {
		s.weights[i] = make([]float64, len(s.items))
	}
	s.pickLarge()
	return s, nil
}

// same reports whether two items are equal.
func (it Item) same(o Item) bool {
	return it.Mirrored == o.Mirrored && it.OnEdge == o.OnEdge &&
		slices.Equal(it.Turns, o.Turns) && slices.Equal(it.Outline, o.Outline)
}

// addShapes adds an item's shapes, one for each way it may lie on the strip.
func (s *search) addShapes(it Item) {
	outline := it.Outline.clean()
	for _, mirrored := range []bool{false, true} {
		for _, turn := range it.Turns {
			// Turned upside down, the edge leaves the fold; turned and mirrored, it is
			// back on it.
			upsideDown := math.Abs(math.Abs(turn)-math.Pi) < 1e-9
			if mirrored && !it.Mirrored || it.OnEdge && upsideDown != mirrored {
				continue
			}
			sh := newShape(outline.way(mirrored, turn))
			sh.mirrored, sh.turn, sh.onEdge = mirrored, turn, it.OnEdge
			if sh.box.Height() <= s.width*(1+slackShare) {
				s.shapes = append(s.shapes, sh)
			}
		}
	}
}

// pickLarge lists the largest items, which make up most of the area.
func (s *search) pickLarge() {
	const share = 0.75
	area := func(i int) float64 { return s.kinds[s.items[i].kind].area }
	total := 0.0
	for i := range s.items {
		s.large = append(s.large, i)
		total += area(i)
	}
	slices.SortStableFunc(s.large, func(a, b int) int { return cmp.Compare(area(b), area(a)) })
	sum := 0.0
	for n, i := range s.large {
		if sum += area(i); sum > share*total {
			s.large = s.large[:n+1]
			break
		}
	}
}

// room returns the positions that keep a shape on the strip.
func (s *search) room(sh int) geom.Box {
	b := s.shapes[sh].box
	room := geom.Box{
		Min: b.Min.Neg(),
		Max: geom.Pt(max(s.length-b.Max.X, -b.Min.X), max(s.width-b.Max.Y, -b.Min.Y)),
	}
	if s.shapes[sh].onEdge {
		room.Max.Y = room.Min.Y
	}
	return room
}

// clampTo returns the point of b nearest to p.
func clampTo(p geom.Point, b geom.Box) geom.Point {
	return geom.Pt(min(max(p.X, b.Min.X), b.Max.X), min(max(p.Y, b.Min.Y), b.Max.Y))
}

// overlap returns the weighted overlap of an item with the others if it lay in a
// shape at a position. It stops adding once the sum reaches limit.
func (s *search) overlap(i, sh int, at geom.Point, limit float64) float64 {
	s.tries++
	sum := 0.0
	row, w := s.pairs[sh], s.weights[i]
	for j := range s.items {
		o := &s.items[j]
		p := &row[o.shape]
		// As pairing.depth, but without a call for most items.
		x, y := at.X-o.at.X, at.Y-o.at.Y
		if x <= p.box.Min.X || x >= p.box.Max.X || y <= p.box.Min.Y || y >= p.box.Max.Y || j == i {
			continue
		}
		if d := p.c.depth(geom.Point{X: p.sign * x, Y: p.sign * y}); d > s.touch {
			if sum += p.badness(d) * w[j]; sum >= limit {
				return sum
			}
		}
	}
	return sum
}

// overlapNear is like overlap but considers only the items that findNear found.
func (s *search) overlapNear(i, sh int, at geom.Point, limit float64) float64 {
	s.tries++
	sum := 0.0
	row, w := s.pairs[sh], s.weights[i]
	for _, j := range s.near {
		o := &s.items[j]
		p := &row[o.shape]
		if d := p.depth(geom.Point{X: at.X - o.at.X, Y: at.Y - o.at.Y}); d > s.touch {
			if sum += p.badness(d) * w[j]; sum >= limit {
				return sum
			}
		}
	}
	return sum
}

// snapshot is a copy of the state of the items.
type snapshot struct {
	length float64
	items  []placed
}

func (s *search) snapshot() snapshot { return snapshot{s.length, slices.Clone(s.items)} }

func (s *search) restore(k snapshot) {
	s.length = k.length
	copy(s.items, k.items)
}

// packing returns the packing that the snapshot holds.
func (k snapshot) packing(s *search) Packing {
	p := Packing{Length: k.length}
	for _, it := range k.items {
		sh := &s.shapes[it.shape]
		p.Placements = append(p.Placements, Placement{Mirrored: sh.mirrored, Turn: sh.turn, At: it.at})
	}
	return p
}

// used returns how far the items reach along the strip.
func (s *search) used() float64 {
	used := 0.0
	for _, it := range s.items {
		used = max(used, it.at.X+s.shapes[it.shape].box.Max.X)
	}
	return used
}
