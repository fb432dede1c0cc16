package nesting

import (
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
)

// A clash answers as its convex sets do when each is asked: whether a place
// overlaps, and how far its way out leads. Inside, the way out ends at the
// boundary and nowhere nearer.
func TestClashAsItsSets(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	for _, in := range published {
		items, width := instance(t, in.name)
		s := newSearch(items, Strip{Width: width}, Budget{})
		touch := 1e-7 * width
		for range 40 {
			a, b := rng.IntN(len(s.shapes)), rng.IntN(len(s.shapes))
			var sets []convexSet
			for _, p := range s.shapes[a].parts {
				for _, q := range s.shapes[b].parts {
					sets = append(sets, newConvexSet(reflectedSum(p, q, 0)))
				}
			}
			inside := func(d geom.Point, by float64) bool {
				for _, set := range sets {
					least := math.Inf(1)
					for _, sd := range set.sides {
						least = min(least, sd.reach-sd.normal.Dot(d))
					}
					if least > by {
						return true
					}
				}
				return false
			}
			pair := &s.pairs[a][b]
			for range 400 {
				d := geom.Pt(pair.box.Min.X+rng.Float64()*pair.box.Width(), pair.box.Min.Y+rng.Float64()*pair.box.Height())
				depth := pair.depth(d)
				if inside(d, touch) && depth <= 0 {
					t.Fatalf("%s: shapes %d and %d overlap at %v, and the clash says they don't", in.name, a, b, d)
				}
				if depth > touch && !inside(d, -touch) {
					t.Fatalf("%s: shapes %d and %d are clear at %v, and the clash says %g", in.name, a, b, d, depth)
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
					if !inside(d.Add(geom.Polar(depth-touch, angle)), -touch) {
						t.Fatalf("%s: shapes %d and %d at %v: clear after less than %g", in.name, a, b, d, depth)
					}
				}
			}
		}
	}
}
