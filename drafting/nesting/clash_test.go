package nesting

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
)

// A clash answers as its convex sets do when each is asked: whether a position
// overlaps, and how far the way out is. The way out ends at the boundary, and the
// boundary is nowhere nearer.
func TestClashAgreesWithItsSets(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	for _, in := range instances() {
		s, err := newSearch(t.Context(), in.items, Strip{Width: in.width}, Budget{})
		if err != nil {
			t.Fatal(err)
		}
		for range 30 {
			a, b := rng.IntN(len(s.shapes)), rng.IntN(len(s.shapes))
			var sets unionOfSets
			for _, p := range s.shapes[a].parts {
				for _, q := range s.shapes[b].parts {
					sets = append(sets, newConvexSet(reflectedSum(p, q, 0)))
				}
			}
			if err := checkClash(&s.pairs[a][b], sets, 1e-7*in.width, rng); err != nil {
				t.Fatalf("%s: shapes %d and %d: %v", in.name, a, b, err)
			}
		}
	}
}

type unionOfSets []convexSet

// inside reports whether one of the sets holds d deeper than depth.
func (u unionOfSets) inside(d geom.Point, depth float64) bool {
	for _, set := range u {
		least := math.Inf(1)
		for _, sd := range set.sides {
			least = min(least, sd.reach-sd.normal.Dot(d))
		}
		if least > depth {
			return true
		}
	}
	return false
}

// checkClash compares a clash with its sets at random positions.
func checkClash(pair *pairing, sets unionOfSets, touch float64, rng *rand.Rand) error {
	for range 400 {
		d := pair.box.Min.Add(geom.Pt(rng.Float64()*pair.box.Width(), rng.Float64()*pair.box.Height()))
		depth := pair.depth(d)
		if sets.inside(d, touch) && depth <= 0 {
			return fmt.Errorf("they overlap at %v, and the clash says they are clear", d)
		}
		if depth > touch && !sets.inside(d, -touch) {
			return fmt.Errorf("they are clear at %v, and the clash says %g", d, depth)
		}
		if depth <= touch {
			continue
		}
		// Well inside, a cell knows one side of the boundary only.
		cell := geom.Pt(1/pair.c.perCell.X, 1/pair.c.perCell.Y).Norm()
		if depth > cell {
			depth -= 2 * cell
		}
		for angle := 0.0; angle < 2*math.Pi; angle += 0.1 {
			if !sets.inside(d.Add(geom.Polar(depth-touch, angle)), -touch) {
				return fmt.Errorf("at %v they are clear after less than %g", d, depth)
			}
		}
	}
	return nil
}
