package geom_test

import (
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
)

// The hull of random points is convex, runs as paths do, has corners among the points,
// and holds them all.
func TestConvexHull(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		var points []geom.Point
		for range 3 + r.IntN(60) {
			points = append(points, geom.Pt(float64(r.IntN(40)), float64(r.IntN(40))))
		}
		hull := geom.ConvexHull(points)
		if len(hull) < 3 {
			continue // all on one line
		}
		path := geom.Polyline(append(hull, hull[0])...)
		if path.Area() <= 0 {
			t.Fatalf("the hull of %v runs against the clock", points)
		}
		for i, a := range hull {
			b, c := hull[(i+1)%len(hull)], hull[(i+2)%len(hull)]
			if b.Sub(a).Cross(c.Sub(b)) <= 0 {
				t.Fatalf("the hull of %v is not convex at %v", points, b)
			}
			for _, p := range points {
				if b.Sub(a).Cross(p.Sub(a)) < 0 {
					t.Fatalf("%v lies outside the hull %v", p, hull)
				}
			}
		}
	}
	if got := geom.ConvexHull([]geom.Point{{X: 1}, {X: 1}, {X: 2}}); len(got) != 2 {
		t.Errorf("the hull of two points has %d corners", len(got))
	}
}
