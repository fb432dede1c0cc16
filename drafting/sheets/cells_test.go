package sheets

import (
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
)

// polygon is a star-shaped polygon of n corners about the middle of a box.
func polygon(r *rand.Rand, n int, size geom.Point) []geom.Point {
	points := make([]geom.Point, n)
	for i := range points {
		a := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n)
		k := 0.2 + 0.8*r.Float64()
		points[i] = geom.Pt(size.X/2*(1+k*math.Cos(a)), size.Y/2*(1+k*math.Sin(a)))
	}
	return points
}

// A cover says the same tiles as looking at the cells one by one.
func TestCoversAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 5))
	for range 20 {
		g := newCellGrid(geom.Pt(100+200*r.Float64(), 100+200*r.Float64()))
		s := newShape(polygon(r, 8, geom.Pt(40+400*r.Float64(), 40+400*r.Float64())), g.unit, Gap)
		seen := 0
		for _, c := range coversOf(s.body, g) {
			for _, at := range c.at {
				seen++
				got := map[tile]int{}
				for y := range s.body.H {
					for x := range s.body.W {
						if s.body.Has(x, y) {
							got[tile{(x + int(at.x)) / g.nx, (y + int(at.y)) / g.ny}]++
						}
					}
				}
				if len(got) != len(c.needs) || c.fresh(make([]uint64, len(c.rows)), 0, 0) != len(got) {
					t.Fatalf("%d tiles at %v, want %d", len(c.needs), at, len(got))
				}
				for _, n := range c.needs {
					if n.cells > got[tile{n.tx, n.ty}] {
						t.Fatalf("tile (%d, %d) holds %d cells at %v, the cover says at least %d", n.tx, n.ty, got[tile{n.tx, n.ty}], at,
							n.cells)
					}
				}
			}
		}
		if want := g.nx / lattice * (g.ny / lattice); seen != want {
			t.Fatalf("%d places in the covers, want %d", seen, want)
		}
	}
}

func TestTileNames(t *testing.T) {
	t.Parallel()
	for want, at := range map[string]tile{"A1": {0, 0}, "B3": {1, 2}, "Z10": {25, 9}, "AA1": {26, 0}, "AZ2": {51, 1},
		"BA1": {52, 0}} {
		if got := at.name(); got != want {
			t.Errorf("%v is %s, want %s", at, got, want)
		}
	}
}
