package form

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// blocks returns closed boxes, each from one corner to another.
func blocks(corners ...[2]r3.Vec) (points []r3.Vec, surfaces [][][3]int) {
	for _, c := range corners {
		first := len(points)
		for i := range 8 {
			p := c[0]
			if i&1 > 0 {
				p.X = c[1].X
			}
			if i&2 > 0 {
				p.Y = c[1].Y
			}
			if i&4 > 0 {
				p.Z = c[1].Z
			}
			points = append(points, p)
		}
		var surface [][3]int
		for _, s := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
			surface = append(surface, [3]int{first + s[0], first + s[1], first + s[2]},
				[3]int{first + s[0], first + s[2], first + s[3]})
		}
		surfaces = append(surfaces, surface)
	}
	return points, surfaces
}

// TestUnionOfSurfaces: of two boxes that overlap, faces inside the other do not count. The depth at
// a point is that below the nearest outer face.
func TestUnionOfSurfaces(t *testing.T) {
	points, surfaces := blocks([2]r3.Vec{{}, {X: 200, Y: 120, Z: 120}}, [2]r3.Vec{{X: 100}, {X: 300, Y: 120, Z: 120}})
	f, err := newField(t.Context(), points, surfaces...)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		at   r3.Vec
		want float64
		out  r3.Vec
	}{
		{r3.Vec{X: 198, Y: 60, Z: 30}, -30, r3.Vec{Z: -1}}, // on the end of one box, inside the other
		{r3.Vec{X: 104, Y: 112, Z: 60}, -8, r3.Vec{Y: 1}},
		{r3.Vec{X: 150, Y: 60, Z: 135}, 15, r3.Vec{Z: 1}},
		{r3.Vec{X: 312, Y: 60, Z: 60}, 12, r3.Vec{X: 1}},
	} {
		d, out := f.distance(test.at)
		if math.Abs(d-test.want) > 0.5 || r3.Norm(r3.Sub(out, test.out)) > 0.1 {
			t.Errorf("at %v: %.2f mm, towards %.2f; want %.0f, towards %v", test.at, d, out, test.want, test.out)
		}
	}
}

// TestGradient: the gradient is that of the distance, and does not leap, also where a gap between
// two boxes is narrow and where they meet in a corner.
func TestGradient(t *testing.T) {
	points, surfaces := blocks([2]r3.Vec{{}, {X: 100, Y: 120, Z: 120}}, [2]r3.Vec{{X: 116}, {X: 216, Y: 120, Z: 120}},
		[2]r3.Vec{{Y: 100}, {X: 216, Y: 220, Z: 100}})
	f, err := newField(t.Context(), points, surfaces...)
	if err != nil {
		t.Fatal(err)
	}
	const step = 0.05 // mm
	for _, line := range [][2]r3.Vec{
		{{X: 80, Y: 50, Z: 60}, {X: 140, Y: 52, Z: 61}},   // across the gap
		{{X: 107, Y: 60, Z: 50}, {X: 109, Y: 140, Z: 51}}, // up to where it ends
		{{X: 50, Y: 90, Z: 130}, {X: 52, Y: 130, Z: 90}},  // into the corner
	} {
		way := r3.Sub(line[1], line[0])
		along, parts := r3.Unit(way), int(r3.Norm(way)/step)
		before, was := f.distance(line[0])
		for i := 1; i <= parts; i++ {
			d, is := f.distance(r3.Add(line[0], r3.Scale(step*float64(i), along)))
			if grows := r3.Dot(r3.Add(was, is), along) / 2; math.Abs((d-before)/step-grows) > 0.01 {
				t.Fatalf("from %v, after %.2f mm: the distance grows by %.3f, the gradient says %.3f", line[0], step*float64(i),
					(d-before)/step, grows)
			}
			if leap := r3.Norm(r3.Sub(is, was)); leap > 0.05 {
				t.Fatalf("from %v, after %.2f mm: the gradient leaps by %.2f", line[0], step*float64(i), leap)
			}
			before, was = d, is
		}
	}
}
