// Package trimesh fills a region of the plane with triangles of about one size.
package trimesh

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Fill divides the region inside the loops into triangles. The first loop is the
// region's boundary, the others are holes in it; a loop's last point is joined to
// its first. All points of the loops are corners of triangles, and all their
// sides are sides of triangles. Points inside are added size apart. Fill returns
// the points, those of the loops first and in order, and the triangles, wound
// counterclockwise.
//
// It returns an error when a loop has fewer than three points, two points are
// equal, or loops cross.
func Fill(loops [][]r2.Vec, size float64) ([]r2.Vec, [][3]int, error) {
	var points []r2.Vec
	var sides [][2]int
	for _, loop := range loops {
		if len(loop) < 3 {
			return nil, nil, fmt.Errorf("trimesh: a loop of %d points", len(loop))
		}
		first := len(points)
		for i := range loop {
			sides = append(sides, [2]int{first + i, first + (i+1)%len(loop)})
		}
		points = append(points, loop...)
	}
	if len(points) == 0 {
		return nil, nil, nil
	}
	points = append(points, inside(points, sides, size)...)
	d := newDelaunay(points)
	for i := range points {
		if err := d.insert(i); err != nil {
			return nil, nil, err
		}
	}
	for _, s := range sides {
		if err := d.enforce(s[0], s[1]); err != nil {
			return nil, nil, err
		}
	}
	if err := d.check(sides); err != nil {
		return nil, nil, err
	}
	var triangles [][3]int
	for _, t := range d.triangles {
		if max(t.p[0], t.p[1], t.p[2]) >= len(points) {
			continue
		}
		a, b, c := points[t.p[0]], points[t.p[1]], points[t.p[2]]
		if contains(points, sides, r2.Scale(1.0/3, r2.Add(a, r2.Add(b, c)))) {
			triangles = append(triangles, t.p)
		}
	}
	return points, triangles, nil
}

// inside returns points of a triangular lattice that lie in the region and not
// close to its boundary.
func inside(points []r2.Vec, sides [][2]int, size float64) []r2.Vec {
	low, high := points[0], points[0]
	for _, p := range points {
		low = r2.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = r2.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	const gap = 0.65 // of size
	var all []r2.Vec
	for j, y := 0, low.Y; y <= high.Y; j, y = j+1, y+size*math.Sqrt(3)/2 {
		for x := low.X + size*0.5*float64(j%2); x <= high.X; x += size {
			p := r2.Vec{X: x, Y: y}
			if contains(points, sides, p) && distance(points, sides, p) > gap*size {
				all = append(all, p)
			}
		}
	}
	return all
}

// contains reports whether p lies inside the region, by the parity of the sides
// that a ray from it crosses.
func contains(points []r2.Vec, sides [][2]int, p r2.Vec) bool {
	in := false
	for _, s := range sides {
		a, b := points[s[0]], points[s[1]]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)*(b.X-a.X)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}

// distance returns how far p is from the nearest side.
func distance(points []r2.Vec, sides [][2]int, p r2.Vec) float64 {
	least := math.Inf(1)
	for _, s := range sides {
		a, b := points[s[0]], points[s[1]]
		ab, ap := r2.Sub(b, a), r2.Sub(p, a)
		t := max(0, min(1, r2.Dot(ab, ap)/r2.Norm2(ab)))
		least = min(least, r2.Norm2(r2.Sub(ap, r2.Scale(t, ab))))
	}
	return math.Sqrt(least)
}
