package nesting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// Polygon is a simple outline, its first corner not repeated.
type Polygon []geom.Point

// Area is the enclosed area whatever the sense of the outline.
func (p Polygon) Area() float64 { return math.Abs(p.signedArea()) }

func (p Polygon) signedArea() float64 {
	sum := 0.0
	for i, a := range p {
		sum += a.Cross(p[(i+1)%len(p)])
	}
	return sum / 2
}

func (p Polygon) bounds() geom.Box { return geom.BoxOf(p...) }

// way is the polygon mirrored in the x axis, if so asked, and then turned about
// the origin.
func (p Polygon) way(mirrored bool, turn float64) Polygon {
	q := make(Polygon, len(p))
	for i, a := range p {
		if mirrored {
			a.Y = -a.Y
		}
		q[i] = a.Rotate(geom.Point{}, turn)
	}
	return q
}

// clean drops corners that lie on their neighbours, then those on a straight
// line, and gives the outline positive area.
func (p Polygon) clean() Polygon {
	tol := 1e-9 * (1 + p.bounds().Width() + p.bounds().Height())
	var apart Polygon
	for i, b := range p {
		if len(apart) > 0 && b.Dist(apart[len(apart)-1]) <= tol || i == len(p)-1 && len(apart) > 0 && b.Dist(apart[0]) <= tol {
			continue
		}
		apart = append(apart, b)
	}
	var q Polygon
	for i, b := range apart {
		a, c := apart[(i+len(apart)-1)%len(apart)], apart[(i+1)%len(apart)]
		if math.Abs(b.Sub(a).Cross(c.Sub(b))) > tol*tol {
			q = append(q, b)
		}
	}
	if q.signedArea() < 0 {
		slices.Reverse(q)
	}
	return q
}

// convexParts cuts a clean polygon into few convex ones: ears are clipped off,
// and neighbours joined again where they stay convex (Hertel and Mehlhorn).
func (p Polygon) convexParts() []Polygon {
	if p.convex() {
		return []Polygon{p}
	}
	parts := p.triangles()
	for merged := true; merged; {
		merged = false
	search:
		for i := range parts {
			for j := i + 1; j < len(parts); j++ {
				if q, ok := join(parts[i], parts[j]); ok {
					parts[i] = q
					parts = slices.Delete(parts, j, j+1)
					merged = true
					break search
				}
			}
		}
	}
	return parts
}

// convex reports whether no corner turns the other way.
func (p Polygon) convex() bool {
	for i, b := range p {
		a, c := p[(i+len(p)-1)%len(p)], p[(i+1)%len(p)]
		if u, v := b.Sub(a), c.Sub(b); u.Cross(v) < -1e-9*u.Norm()*v.Norm() {
			return false
		}
	}
	return true
}

// triangles clips ears off until a triangle is left.
func (p Polygon) triangles() []Polygon {
	rest := slices.Clone(p)
	var out []Polygon
	for len(rest) > 3 {
		best, at := math.Inf(-1), -1
		for i, b := range rest {
			a, c := rest[(i+len(rest)-1)%len(rest)], rest[(i+1)%len(rest)]
			turn := b.Sub(a).Cross(c.Sub(b))
			if turn <= 0 || !ear(rest, a, b, c) {
				continue
			}
			// The ear with the best shape: slivers make bad neighbours.
			if q := turn / (a.Dist(b) + b.Dist(c) + c.Dist(a)); q > best {
				best, at = q, i
			}
		}
		if at < 0 { // degenerate: any convex corner will do
			for i, b := range rest {
				a, c := rest[(i+len(rest)-1)%len(rest)], rest[(i+1)%len(rest)]
				if b.Sub(a).Cross(c.Sub(b)) >= 0 {
					at = i
					break
				}
			}
			at = max(at, 0)
		}
		a, c := rest[(at+len(rest)-1)%len(rest)], rest[(at+1)%len(rest)]
		out = append(out, Polygon{a, rest[at], c})
		rest = slices.Delete(rest, at, at+1)
	}
	return append(out, rest)
}

// ear reports whether no other corner lies in the triangle.
func ear(p Polygon, a, b, c geom.Point) bool {
	for _, q := range p {
		if q == a || q == b || q == c {
			continue
		}
		if b.Sub(a).Cross(q.Sub(a)) >= 0 && c.Sub(b).Cross(q.Sub(b)) >= 0 && a.Sub(c).Cross(q.Sub(c)) >= 0 {
			return false
		}
	}
	return true
}

// join is the union of two convex polygons that share an edge, where it is
// convex.
func join(p, q Polygon) (Polygon, bool) {
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		for j := range q {
			if q[j] != b || q[(j+1)%len(q)] != a {
				continue
			}
			var u Polygon
			for k := 1; k <= len(p); k++ {
				u = append(u, p[(i+k)%len(p)])
			}
			for k := 2; k < len(q); k++ {
				u = append(u, q[(j+k)%len(q)])
			}
			return u, u.convex()
		}
	}
	return nil, false
}

// hull is the convex hull of points, of positive area (Andrew's monotone
// chain).
func hull(points []geom.Point) Polygon {
	slices.SortFunc(points, func(a, b geom.Point) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	chain := func(points []geom.Point) Polygon {
		var c Polygon
		for _, p := range points {
			for len(c) > 1 && c[len(c)-1].Sub(c[len(c)-2]).Cross(p.Sub(c[len(c)-1])) <= 0 {
				c = c[:len(c)-1]
			}
			c = append(c, p)
		}
		return c[:len(c)-1]
	}
	lower := chain(points)
	slices.Reverse(points)
	return append(lower, chain(points)...)
}
