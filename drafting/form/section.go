package form

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Section returns the closed lines in which the level y cuts the body, the
// longest first. Points are (x, z).
func (f *Form) Section(y float64) [][]r2.Vec {
	return sections(f.Points, f.Triangles, y)
}

func sections(points []r3.Vec, triangles [][3]int, y float64) [][]r2.Vec {
	// Each side that crosses the level is a node; each triangle joins two.
	type node [2]int
	at := map[node]r2.Vec{}
	next := map[node]node{}
	for _, t := range triangles {
		var up, down node
		cut := 0
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			pa, pb := points[a], points[b]
			if (pa.Y > y) == (pb.Y > y) {
				continue
			}
			n := node{min(a, b), max(a, b)}
			s := (y - pa.Y) / (pb.Y - pa.Y)
			at[n] = r2.Vec{X: pa.X + s*(pb.X-pa.X), Y: pa.Z + s*(pb.Z-pa.Z)}
			if pb.Y > y {
				up = n
			} else {
				down = n
			}
			cut++
		}
		if cut == 2 {
			next[up] = down
		}
	}
	starts := make([]node, 0, len(next))
	for n := range next {
		starts = append(starts, n)
	}
	slices.SortFunc(starts, func(a, b node) int { return cmp.Or(a[0]-b[0], a[1]-b[1]) })
	var loops [][]r2.Vec
	for _, start := range starts {
		var loop []r2.Vec
		for n, ok := start, true; ok; {
			var to node
			if to, ok = next[n]; ok {
				delete(next, n)
				loop = append(loop, at[n])
				n = to
			}
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	slices.SortStableFunc(loops, func(a, b []r2.Vec) int { return cmp.Compare(perimeter(b), perimeter(a)) })
	return loops
}

func perimeter(loop []r2.Vec) float64 {
	sum := 0.0
	for i, p := range loop {
		sum += r2.Norm(r2.Sub(loop[(i+1)%len(loop)], p))
	}
	return sum
}

// Girth returns the length of a tape round the points, which spans hollows: the
// perimeter of their convex hull.
func Girth(points []r2.Vec) float64 { return perimeter(hull(points)) }

// hull returns the convex hull (Andrew 1979).
func hull(points []r2.Vec) []r2.Vec {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b r2.Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	var h []r2.Vec
	chain := func(p []r2.Vec) {
		base := len(h)
		for _, q := range p {
			for len(h) >= base+2 && r2.Cross(r2.Sub(h[len(h)-1], h[len(h)-2]), r2.Sub(q, h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		h = h[:len(h)-1]
	}
	chain(p)
	slices.Reverse(p)
	chain(p)
	return h
}

// TrunkGirth returns the girth of the trunk at level y: of the loop about the
// body's middle.
func (f *Form) TrunkGirth(y float64) float64 {
	for _, loop := range f.Section(y) {
		if about(loop, r2.Vec{Y: middleOf(loop)}) {
			return Girth(loop)
		}
	}
	return math.NaN()
}

// about reports whether the loop goes round the point.
func about(loop []r2.Vec, p r2.Vec) bool {
	in := false
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)*(b.X-a.X)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}

// RightHalf returns the hull of the trunk at level y, on the body's right, from
// the middle of the front to the middle of the back, (x, z) with x <= 0.
func (f *Form) RightHalf(y float64) []r2.Vec {
	var loop []r2.Vec
	for _, l := range f.Section(y) {
		mid := middleOf(l)
		if about(l, r2.Vec{Y: mid}) {
			loop = l
			break
		}
	}
	if loop == nil {
		return []r2.Vec{{}, {}}
	}
	var half []r2.Vec
	for _, p := range hull(loop) {
		if p.X <= 0 {
			half = append(half, p)
		}
	}
	slices.SortStableFunc(half, func(a, b r2.Vec) int { return cmp.Compare(turnFrom(a, half), turnFrom(b, half)) })
	front, back := half[0], half[len(half)-1]
	return append(append([]r2.Vec{{Y: front.Y}}, half...), r2.Vec{Y: back.Y})
}

// RightLeg returns the middle of the right leg at level y, (x, z), and the radius of a
// circle of its girth.
func (f *Form) RightLeg(y float64) (middle r2.Vec, radius float64) {
	for _, loop := range f.Section(y) {
		var sum r2.Vec
		for _, p := range loop {
			sum = r2.Add(sum, r2.Scale(1/float64(len(loop)), p))
		}
		if g := Girth(loop); sum.X < 0 && Radius(g) > radius {
			middle, radius = sum, Radius(g)
		}
	}
	return middle, radius
}

// turnFrom returns the angle of p round the half's middle, from the front.
func turnFrom(p r2.Vec, half []r2.Vec) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, q := range half {
		low, high = min(low, q.Y), max(high, q.Y)
	}
	return math.Atan2(-p.X, p.Y-(low+high)/2)
}

// Depth returns the z of the front (side 1) or the back (side -1) of the body at
// level y, x from the middle; that of the nearest part where there is none.
func (f *Form) Depth(y, x, side float64) float64 {
	best, near := math.Inf(-1), math.Inf(1)
	fallback := 0.0
	for _, loop := range f.Section(y) {
		for i, p := range loop {
			q := loop[(i+1)%len(loop)]
			if d := math.Abs(p.X - x); d < near {
				near, fallback = d, p.Y
			}
			if (p.X > x) != (q.X > x) {
				t := (x - p.X) / (q.X - p.X)
				best = max(best, side*(p.Y+t*(q.Y-p.Y)))
			}
		}
	}
	if math.IsInf(best, -1) {
		return fallback
	}
	return side * best
}
