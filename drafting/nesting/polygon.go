package nesting

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// Polygon is a simple outline. Its last corner does not repeat the first.
type Polygon []geom.Point

// Area returns the enclosed area, positive in either sense of the outline.
func (p Polygon) Area() float64 { return math.Abs(p.signedArea()) }

func (p Polygon) signedArea() float64 {
	sum := 0.0
	for i, a := range p {
		sum += a.Cross(p[(i+1)%len(p)])
	}
	return sum / 2
}

func (p Polygon) bounds() geom.Box { return geom.BoxOf(p...) }

// way returns the polygon in one of the ways it may lie: mirrored in the x axis
// if mirrored is set, then turned about the origin.
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

// clean removes corners that coincide with a neighbour, then those on a straight
// line, and orders the rest so that the area is positive.
func (p Polygon) clean() Polygon {
	tol := 1e-9 * (1 + p.bounds().Width() + p.bounds().Height())
	var apart Polygon
	for i, b := range p {
		if len(apart) > 0 && b.Dist(apart[len(apart)-1]) <= tol ||
			i == len(p)-1 && len(apart) > 0 && b.Dist(apart[0]) <= tol {
			continue
		}
		apart = append(apart, b)
	}
	var q Polygon
	for i := range apart {
		a, b, c := apart.corner(i)
		if math.Abs(b.Sub(a).Cross(c.Sub(b))) > tol*tol {
			q = append(q, b)
		}
	}
	if q.signedArea() < 0 {
		slices.Reverse(q)
	}
	return q
}

// convexParts cuts a clean polygon into a few convex ones: it clips ears and
// joins neighbours again where they stay convex (Hertel and Mehlhorn).
func (p Polygon) convexParts() []Polygon {
	if p.convex() {
		return []Polygon{p}
	}
	parts := p.triangles()
	for joined := true; joined; {
		parts, joined = joinPair(parts)
	}
	return parts
}

// joinPair joins the first two parts whose union is convex, and reports whether
// there were any.
func joinPair(parts []Polygon) ([]Polygon, bool) {
	for i := range parts {
		for j := i + 1; j < len(parts); j++ {
			if q, ok := join(parts[i], parts[j]); ok {
				parts[i] = q
				return slices.Delete(parts, j, j+1), true
			}
		}
	}
	return parts, false
}

// convex reports whether every corner turns the same way.
func (p Polygon) convex() bool {
	for i := range p {
		a, b, c := p.corner(i)
		if u, v := b.Sub(a), c.Sub(b); u.Cross(v) < -1e-9*u.Norm()*v.Norm() {
			return false
		}
	}
	return true
}

// triangles cuts the polygon into triangles by clipping ears.
func (p Polygon) triangles() []Polygon {
	rest := slices.Clone(p)
	var out []Polygon
	for len(rest) > 3 {
		at := rest.bestEar()
		a, b, c := rest.corner(at)
		out = append(out, Polygon{a, b, c})
		rest = slices.Delete(rest, at, at+1)
	}
	return append(out, rest)
}

// corner returns corner i between its neighbours.
func (p Polygon) corner(i int) (a, b, c geom.Point) {
	return p[(i+len(p)-1)%len(p)], p[i], p[(i+1)%len(p)]
}

// bestEar returns the ear with the best shape: slivers make bad neighbours. In
// a degenerate polygon without ears it returns the first convex corner.
func (p Polygon) bestEar() int {
	best, at := math.Inf(-1), -1
	for i := range p {
		a, b, c := p.corner(i)
		turn := b.Sub(a).Cross(c.Sub(b))
		if turn <= 0 || !isEar(p, a, b, c) {
			continue
		}
		if q := turn / (a.Dist(b) + b.Dist(c) + c.Dist(a)); q > best {
			best, at = q, i
		}
	}
	for i := 0; at < 0 && i < len(p); i++ {
		if a, b, c := p.corner(i); b.Sub(a).Cross(c.Sub(b)) >= 0 {
			at = i
		}
	}
	return max(at, 0)
}

// isEar reports whether no other corner of p lies in the triangle.
func isEar(p Polygon, a, b, c geom.Point) bool {
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

// join returns the union of two convex polygons that share an edge. ok is false
// if they share none or the union is not convex.
func join(p, q Polygon) (union Polygon, ok bool) {
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

// comparePoints orders points from left to right, then from low to high.
func comparePoints(a, b geom.Point) int {
	return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y))
}

// hull returns the convex hull of points, with positive area (Andrew's monotone
// chain). It sorts the points.
func hull(points []geom.Point) Polygon {
	slices.SortFunc(points, comparePoints)
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
