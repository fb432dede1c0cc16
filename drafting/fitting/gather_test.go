package fitting

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/drape"
	"tapeline/drafting/geom"
)

// TestGathered: a triangle at an edge that is drawn in to half has half its length along
// the edge, its height, and twice the cloth, however it lies to the grain.
func TestGathered(t *testing.T) {
	q := &panel{gathers: []gather{{line: []geom.Point{{X: -500}, {X: 500}}, fullness: 2, along: r2.Vec{X: 1}}}}
	corners := [3]r2.Vec{{}, {X: 20}, {X: 7, Y: 4}}
	for _, turn := range []float64{0, 0.4, math.Pi / 2} {
		sin, cos := math.Sincos(turn)
		toFlat := func(v r2.Vec) r2.Vec { return r2.Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y} }
		var tri drape.Triangle
		for k, c := range corners {
			tri.Flat[k] = toFlat(r2.Vec{X: c.X, Y: -c.Y})
		}
		q.gathered(&tri, corners, toFlat)
		if got := r2.Norm(r2.Sub(tri.Flat[1], tri.Flat[0])); math.Abs(got-10) > 0.01 {
			t.Errorf("turned by %.1f: the side along the edge is %.3f mm long, want 10", turn, got)
		}
		want := toFlat(r2.Vec{X: 1})
		if d := r2.Unit(r2.Sub(tri.Flat[1], tri.Flat[0])); r2.Norm(r2.Sub(d, want)) > 0.01 {
			t.Errorf("turned by %.1f: the side points to %v, want %v", turn, d, want)
		}
		if math.Abs(tri.Fullness-2) > 0.03 {
			t.Errorf("fullness %.3f, want 2", tri.Fullness)
		}
		height := r2.Cross(r2.Sub(tri.Flat[1], tri.Flat[0]), r2.Sub(tri.Flat[2], tri.Flat[0])) / 10
		if math.Abs(math.Abs(height)-4) > 0.2 {
			t.Errorf("turned by %.1f: %.3f mm high, want 4", turn, height)
		}
	}
}
