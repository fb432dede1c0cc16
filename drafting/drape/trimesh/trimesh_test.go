package trimesh

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// circle returns n points of a circle, counterclockwise.
func circle(r float64, n int) []r2.Vec {
	loop := make([]r2.Vec, n)
	for i := range loop {
		a := 2 * math.Pi * float64(i) / float64(n)
		loop[i] = r2.Vec{X: r * math.Cos(a), Y: r * math.Sin(a)}
	}
	return loop
}

func polygonArea(loop []r2.Vec) float64 {
	sum := 0.0
	for i, p := range loop {
		sum += r2.Cross(p, loop[(i+1)%len(loop)]) / 2
	}
	return math.Abs(sum)
}

// pointed is a rectangle with a slim dart in its side.
func pointed() []r2.Vec {
	loop := []r2.Vec{}
	line := func(x0, y0, x1, y1 float64, n int) {
		for i := range n {
			s := float64(i) / float64(n)
			loop = append(loop, r2.Vec{X: x0 + s*(x1-x0), Y: y0 + s*(y1-y0)})
		}
	}
	line(0, 0, 200, 0, 17)
	line(200, 0, 200, 140, 12)
	line(200, 140, 90, 150, 9)
	line(90, 150, 200, 160, 9)
	line(200, 160, 200, 300, 12)
	line(200, 300, 0, 300, 17)
	line(0, 300, 0, 0, 25)
	return loop
}

// TestFill checks that the triangles fill the region, that no side is missing,
// and that no triangle is a sliver.
func TestFill(t *testing.T) {
	for name, loops := range map[string][][]r2.Vec{
		"disc":             {circle(150, 80)},
		"ring":             {circle(150, 80), circle(90, 48)},
		"a dart in a side": {pointed()},
	} {
		t.Run(name, func(t *testing.T) {
			points, triangles, err := Fill(loops, 12)
			if err != nil {
				t.Fatal(err)
			}
			want := polygonArea(loops[0])
			sides := map[[2]int]int{}
			first := 0
			for i, loop := range loops {
				if i > 0 {
					want -= polygonArea(loop)
				}
				for k := range loop {
					sides[[2]int{first + k, first + (k+1)%len(loop)}] = 0
				}
				first += len(loop)
			}
			got, worst := 0.0, math.Pi
			for _, tri := range triangles {
				a, b, c := points[tri[0]], points[tri[1]], points[tri[2]]
				area := r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) / 2
				if area <= 0 {
					t.Fatalf("triangle %v has area %g", tri, area)
				}
				got += area
				for k := range 3 {
					p, q, r := points[tri[k]], points[tri[(k+1)%3]], points[tri[(k+2)%3]]
					worst = min(worst, math.Acos(r2.Cos(r2.Sub(q, p), r2.Sub(r, p))))
					for _, s := range [][2]int{{tri[k], tri[(k+1)%3]}, {tri[(k+1)%3], tri[k]}} {
						if _, ok := sides[s]; ok {
							sides[s]++
						}
					}
				}
			}
			if math.Abs(got-want) > 1e-6*want {
				t.Errorf("area %.3f, want %.3f", got, want)
			}
			for s, n := range sides {
				if n != 1 {
					t.Errorf("side %v belongs to %d triangles", s, n)
				}
			}
			t.Logf("%d points, %d triangles, least angle %.1f degrees", len(points), len(triangles), worst*180/math.Pi)
			if name != "a dart in a side" && worst < 25*math.Pi/180 {
				t.Errorf("least angle %.1f degrees", worst*180/math.Pi)
			}
		})
	}
}

func TestFillRefuses(t *testing.T) {
	for name, loops := range map[string][][]r2.Vec{
		"two points":     {{{X: 0}, {X: 1}}},
		"a point twice":  {{{}, {X: 10}, {X: 10, Y: 10}, {X: 10}}},
		"a crossed loop": {{{}, {X: 100, Y: 100}, {X: 100}, {Y: 100}}},
	} {
		if _, _, err := Fill(loops, 12); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
