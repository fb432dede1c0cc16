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

// TestGathersEndWithTheirEdge: gathers fade with the distance from their edge, and where the seam
// runs on beyond it there are none.
func TestGathersEndWithTheirEdge(t *testing.T) {
	q := &panel{gathers: []gather{{line: []geom.Point{{Y: 100}, {Y: 300}}, fullness: 1.5, along: r2.Vec{Y: 1}}}}
	for _, tt := range []struct {
		at   r2.Vec
		want float64
	}{
		{r2.Vec{Y: 200}, 1.5}, {r2.Vec{X: 40, Y: 200}, 1.25}, {r2.Vec{X: 80, Y: 200}, 1},
		{r2.Vec{X: 40, Y: 300}, 1.25}, // square to the end
		{r2.Vec{Y: 310}, 1}, {r2.Vec{Y: 90}, 1},
		{r2.Vec{X: 40 * math.Cos(math.Pi/6), Y: 320}, 1}, // 30 degrees beyond the square
	} {
		if got, _ := q.fullness(tt.at); math.Abs(got-tt.want) > 1e-6 {
			t.Errorf("at %v: fullness %.4f, want %.4f", tt.at, got, tt.want)
		}
	}
}

// TestTakenUp: what hangs below 200 mm of a side that is gathered to two thirds hangs 67 mm
// higher, what hangs beside them by its share, and cutDown finds where each is cut.
func TestTakenUp(t *testing.T) {
	q := &panel{gathers: []gather{{fullness: 1.5, fallsFrom: 100, fallsTo: 300}}}
	for down, want := range map[float64]float64{0: 0, 100: 0, 160: 20, 300: 200.0 / 3, 700: 200.0 / 3} {
		up := q.takenUp(down)
		if math.Abs(up-want) > 1e-9 {
			t.Errorf("%.0f mm down: taken up %.3f mm, want %.3f", down, up, want)
		}
		if got := q.cutDown(down - up); math.Abs(got-down) > 1e-6 {
			t.Errorf("%.1f mm down is cut at %.3f, want %.0f", down-up, got, down)
		}
	}
}
