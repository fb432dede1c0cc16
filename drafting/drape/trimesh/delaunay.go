package trimesh

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r2"
)

// A delaunay is a Delaunay triangulation that grows by one point after another
// (Lawson 1977) and then takes the sides of the region (Sloan 1993).
type delaunay struct {
	points    []r2.Vec // the last three are far outside
	triangles []triangle
	last      int // triangle at which the search for the next point begins
}

type triangle struct {
	p    [3]int // counterclockwise
	next [3]int // neighbour opposite each point, or -1
}

func newDelaunay(points []r2.Vec) *delaunay {
	low, high := points[0], points[0]
	for _, p := range points {
		low = r2.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = r2.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	mid, span := r2.Scale(0.5, r2.Add(low, high)), 50*max(1, high.X-low.X, high.Y-low.Y)
	n := len(points)
	all := append(append([]r2.Vec(nil), points...),
		r2.Vec{X: mid.X - span, Y: mid.Y - span}, r2.Vec{X: mid.X + span, Y: mid.Y - span}, r2.Vec{X: mid.X, Y: mid.Y + span})
	return &delaunay{points: all, triangles: []triangle{{[3]int{n, n + 1, n + 2}, [3]int{-1, -1, -1}}}}
}

// turn is more than 0 where a, b, c turn to the left.
func (d *delaunay) turn(a, b, c int) float64 {
	return r2.Cross(r2.Sub(d.points[b], d.points[a]), r2.Sub(d.points[c], d.points[a]))
}

// nearlyFlat is the area, mm2, below which three points count as lying on a line.
const nearlyFlat = 1e-9

// insert adds point i of the points.
func (d *delaunay) insert(i int) error {
	t, err := d.locate(i)
	if err != nil {
		return err
	}
	tri := d.triangles[t]
	for k := range 3 {
		if d.points[tri.p[k]] == d.points[i] {
			return fmt.Errorf("trimesh: two points at (%g, %g)", d.points[i].X, d.points[i].Y)
		}
	}
	// Divide the triangle in three.
	a, b, c := tri.p[0], tri.p[1], tri.p[2]
	u, v := len(d.triangles), len(d.triangles)+1
	d.triangles[t] = triangle{[3]int{i, b, c}, [3]int{tri.next[0], u, v}}
	d.triangles = append(d.triangles,
		triangle{[3]int{i, c, a}, [3]int{tri.next[1], v, t}},
		triangle{[3]int{i, a, b}, [3]int{tri.next[2], t, u}})
	d.relink(tri.next[1], t, u)
	d.relink(tri.next[2], t, v)
	d.last = t
	d.legalize([]int{t, u, v}, i)
	return nil
}

// relink makes triangle t a neighbour of to where it was one of from.
func (d *delaunay) relink(t, from, to int) {
	if t < 0 {
		return
	}
	for k := range 3 {
		if d.triangles[t].next[k] == from {
			d.triangles[t].next[k] = to
			return
		}
	}
}

// locate returns a triangle that holds point i.
func (d *delaunay) locate(i int) (int, error) {
	t := d.last
	for range 4 * (len(d.triangles) + 8) {
		tri := &d.triangles[t]
		worst, out := -nearlyFlat, -1
		for k := range 3 {
			if turn := d.turn(tri.p[(k+1)%3], tri.p[(k+2)%3], i); turn < worst {
				worst, out = turn, k
			}
		}
		if out < 0 {
			return t, nil
		}
		if t = tri.next[out]; t < 0 {
			break
		}
	}
	return 0, fmt.Errorf("trimesh: point (%g, %g) is in no triangle", d.points[i].X, d.points[i].Y)
}

// legalize flips sides opposite point i until the triangles at it are Delaunay's.
func (d *delaunay) legalize(stack []int, i int) {
	for len(stack) > 0 {
		t := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		k := d.corner(t, i)
		u := d.triangles[t].next[k]
		if u < 0 {
			continue
		}
		if o := d.opposite(u, t); d.inCircle(d.triangles[t].p, d.triangles[u].p[o]) {
			d.flip(t, k)
			stack = append(stack, t, u)
		}
	}
}

// corner returns which corner of triangle t point i is.
func (d *delaunay) corner(t, i int) int {
	for k := range 3 {
		if d.triangles[t].p[k] == i {
			return k
		}
	}
	return -1
}

// opposite returns the corner of triangle u that is not shared with t.
func (d *delaunay) opposite(u, t int) int {
	for k := range 3 {
		if d.triangles[u].next[k] == t {
			return k
		}
	}
	return -1
}

// inCircle reports whether point q lies in the circle about a triangle, or the
// triangle is flat.
func (d *delaunay) inCircle(p [3]int, q int) bool {
	from := d.points[q]
	a, b, c := r2.Sub(d.points[p[0]], from), r2.Sub(d.points[p[1]], from), r2.Sub(d.points[p[2]], from)
	det := r2.Norm2(a)*r2.Cross(b, c) + r2.Norm2(b)*r2.Cross(c, a) + r2.Norm2(c)*r2.Cross(a, b)
	return det > 1e-9*(r2.Norm2(a)+r2.Norm2(b)+r2.Norm2(c))
}

// flip changes the common side of triangle t and its neighbour opposite corner k
// for the other diagonal of their quadrilateral. Both keep their numbers: t has
// its corner k, and the neighbour too.
func (d *delaunay) flip(t, k int) {
	u := d.triangles[t].next[k]
	o := d.opposite(u, t)
	tt, uu := d.triangles[t], d.triangles[u]
	a, b, c, e := tt.p[k], tt.p[(k+1)%3], tt.p[(k+2)%3], uu.p[o]
	// t: a b e, u: a e c.
	bc1, bc2 := tt.next[(k+1)%3], tt.next[(k+2)%3] // opposite b, opposite c
	oc, ob := uu.next[(o+1)%3], uu.next[(o+2)%3]   // opposite c, opposite b
	d.triangles[t] = triangle{[3]int{a, b, e}, [3]int{oc, u, bc2}}
	d.triangles[u] = triangle{[3]int{a, e, c}, [3]int{ob, bc1, t}}
	d.relink(oc, u, t)
	d.relink(bc1, t, u)
}

// enforce flips sides until a and b are joined by one.
func (d *delaunay) enforce(a, b int) error {
	for range 10_000 {
		t, k := d.crossing(a, b)
		if t < 0 {
			return nil
		}
		// Walk along the line to the first quadrilateral that can be flipped.
		for range len(d.triangles) {
			u := d.triangles[t].next[k]
			o := d.opposite(u, t)
			p, q := d.triangles[t].p[k], d.triangles[u].p[o]
			l, r := d.triangles[t].p[(k+1)%3], d.triangles[t].p[(k+2)%3]
			if d.turn(p, l, q) > nearlyFlat && d.turn(p, q, r) > nearlyFlat {
				d.flip(t, k)
				break
			}
			if q == b {
				break
			}
			// The line leaves u through one of its other two sides.
			t = u
			if d.turn(a, b, q) > 0 {
				k = d.corner(u, r)
				if !d.crosses(a, b, q, l) {
					k = d.corner(u, l)
				}
			} else {
				k = d.corner(u, l)
				if !d.crosses(a, b, q, r) {
					k = d.corner(u, r)
				}
			}
		}
	}
	return d.crossed(a, b)
}

// check returns an error if one of the sides is not a side of a triangle: then
// it was flipped for another that crosses it.
func (d *delaunay) check(sides [][2]int) error {
	joined := make(map[[2]int]bool, 3*len(d.triangles))
	for _, t := range d.triangles {
		for k := range 3 {
			joined[[2]int{t.p[k], t.p[(k+1)%3]}] = true
		}
	}
	for _, s := range sides {
		if !joined[s] && !joined[[2]int{s[1], s[0]}] {
			return d.crossed(s[0], s[1])
		}
	}
	return nil
}

func (d *delaunay) crossed(a, b int) error {
	return fmt.Errorf("trimesh: the side from (%g, %g) to (%g, %g) crosses another", d.points[a].X, d.points[a].Y,
		d.points[b].X, d.points[b].Y)
}

// crosses reports whether the lines from a to b and from p to q cross inside both.
func (d *delaunay) crosses(a, b, p, q int) bool {
	return (d.turn(a, b, p) > 0) != (d.turn(a, b, q) > 0) && (d.turn(p, q, a) > 0) != (d.turn(p, q, b) > 0)
}

// crossing returns the triangle at a whose opposite side the line to b crosses,
// and the corner of a in it; -1 where a and b are joined.
func (d *delaunay) crossing(a, b int) (t, k int) {
	found, corner := -1, 0
	for t := range d.triangles {
		k := d.corner(t, a)
		if k < 0 {
			continue
		}
		l, r := d.triangles[t].p[(k+1)%3], d.triangles[t].p[(k+2)%3]
		if l == b || r == b {
			return -1, 0
		}
		if d.turn(a, l, b) > 0 && d.turn(a, b, r) > 0 && d.crosses(a, b, l, r) {
			found, corner = t, k
		}
	}
	return found, corner
}
