package geom

import (
	"cmp"
	"slices"
)

// ConvexHull returns the corners of the smallest convex polygon that holds the
// points, clockwise as paths are (Andrew 1979). It has no three corners on one line.
func ConvexHull(points []Point) []Point {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	sorted = slices.Compact(sorted)
	if len(sorted) < 3 {
		return sorted
	}
	half := func(hull []Point, p Point) []Point {
		for len(hull) >= 2 && hull[len(hull)-1].Sub(hull[len(hull)-2]).Cross(p.Sub(hull[len(hull)-2])) <= 0 {
			hull = hull[:len(hull)-1]
		}
		return append(hull, p)
	}
	var there, back []Point
	for _, p := range sorted {
		there = half(there, p)
	}
	for _, p := range slices.Backward(sorted) {
		back = half(back, p)
	}
	return append(there[:len(there)-1], back[:len(back)-1]...)
}
