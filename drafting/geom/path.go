package geom

import (
	"fmt"
	"math"
	"slices"
)

// Path is a sequence of segments in which each starts where the one before ends.
// The nil Path is empty.
//
// A Path is a value that several owners may share, so nobody writes into one that
// has been handed out: methods return new paths with segments of their own, and
// code that builds a path appends to it, or writes into it, only until it returns
// it.
type Path []Segment

// Check returns an error if two segments of the path do not join within JoinTol.
func (p Path) Check() error {
	for i := 1; i < len(p); i++ {
		if gap := p[i].P0.Dist(p[i-1].P3); !(gap <= JoinTol) {
			return fmt.Errorf("path broken before segment %d: gap %.4g mm", i, gap)
		}
	}
	return nil
}

// Polyline returns the path of straight lines through the points. It does not
// close the path.
func Polyline(points ...Point) Path {
	if len(points) < 2 {
		return nil
	}
	p := make(Path, 0, len(points)-1)
	for i := 1; i < len(points); i++ {
		p = append(p, Line(points[i-1], points[i]))
	}
	return p
}

// Join returns the path that follows the paths one after another.
func Join(paths ...Path) Path { return slices.Concat(paths...) }

// Start returns the first point of the path, or the origin if it is empty.
func (p Path) Start() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[0].P0
}

// End returns the last point of the path, or the origin if it is empty.
func (p Path) End() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[len(p)-1].P3
}

// StartTangent returns the unit direction in which the path starts, or zero if it
// is empty.
func (p Path) StartTangent() Point {
	for i := range p {
		if u := p[i].Tangent(0); u != (Point{}) {
			return u
		}
	}
	return Point{}
}

// EndTangent returns the unit direction in which the path ends, or zero if it is
// empty.
func (p Path) EndTangent() Point {
	for i := len(p) - 1; i >= 0; i-- {
		if u := p[i].Tangent(1); u != (Point{}) {
			return u
		}
	}
	return Point{}
}

// Closed reports whether the path ends where it starts.
func (p Path) Closed() bool { return len(p) > 0 && p.Start().Near(p.End(), JoinTol) }

// Length returns the sum of the segments' lengths.
func (p Path) Length() float64 {
	var sum float64
	for _, s := range p {
		sum += s.Length()
	}
	return sum
}

// locate returns the segment and the parameter at d mm along the path. Before the
// start it returns the start, beyond the end the end.
func (p Path) locate(d float64) (int, float64) {
	for i := range p {
		n := p[i].Length()
		if d <= n || i == len(p)-1 {
			return i, p[i].paramAt(d, n)
		}
		d -= n
	}
	return 0, 0
}

// At returns the point d mm along the path. Before the start it returns the start,
// beyond the end the end.
func (p Path) At(d float64) Point {
	if len(p) == 0 {
		return Point{}
	}
	i, t := p.locate(d)
	return p[i].At(t)
}

// TangentAt returns the unit direction d mm along the path.
func (p Path) TangentAt(d float64) Point {
	if len(p) == 0 {
		return Point{}
	}
	i, t := p.locate(d)
	return p[i].Tangent(t)
}

// SplitAt cuts the path d mm along it. At or beyond an end, the part on that side
// is nil. A cut within JoinTol of a join moves to the join, so that it leaves no
// sliver with a meaningless direction.
func (p Path) SplitAt(d float64) (before, after Path) {
	for i := range p {
		n := p[i].Length()
		switch {
		case !(d > JoinTol):
			return append(Path(nil), p[:i]...), append(Path(nil), p[i:]...)
		case d < n-JoinTol:
			a, b := p[i].Split(p[i].paramAt(d, n))
			before = append(append(make(Path, 0, i+1), p[:i]...), a)
			after = append(append(make(Path, 0, len(p)-i), b), p[i+1:]...)
			return before, after
		}
		d -= n
	}
	return append(Path(nil), p...), nil
}

// Part returns the part of the path from d0 to d1 mm along it.
func (p Path) Part(d0, d1 float64) Path {
	before, _ := p.SplitAt(d1)
	_, part := before.SplitAt(d0)
	return part
}

// Reverse returns the path in the opposite direction.
func (p Path) Reverse() Path {
	r := make(Path, len(p))
	for i, s := range p {
		r[len(p)-1-i] = s.Reverse()
	}
	return r
}

// Move returns the path after m. A reflection also changes the sense of a closed
// outline; see Reverse.
func (p Path) Move(m Motion) Path {
	r := make(Path, len(p))
	for i, s := range p {
		r[i] = s.Move(m)
	}
	return r
}

// Bounds returns the smallest upright box that holds the path.
func (p Path) Bounds() Box {
	b := EmptyBox()
	for _, s := range p {
		b = b.Union(s.Bounds())
	}
	return b
}

// Area returns the area that a closed path encloses, mm², positive if the path
// runs clockwise as seen. It is exact for curves (Green's theorem on each cubic).
// A straight line closes an open path.
func (p Path) Area() float64 {
	if len(p) == 0 {
		return 0
	}
	o := p[0].P0 // an origin near the outline avoids cancellation
	var twice float64
	for _, s := range p {
		a, b, c, d := s.P0.Sub(o), s.P1.Sub(o), s.P2.Sub(o), s.P3.Sub(o)
		if s.Straight {
			twice += a.Cross(d)
			continue
		}
		twice += (6*a.Cross(b) + 3*a.Cross(c) + a.Cross(d) + 3*b.Cross(c) + 3*b.Cross(d) + 6*c.Cross(d)) / 10
	}
	return twice / 2
}

// maxChords limits the chords of one segment for every size and tolerance.
const maxChords = 1 << 14

// Flatten returns points on the path, its ends and joins included, such that the
// chords between them lie within tol mm of the path.
func (p Path) Flatten(tol float64) []Point {
	if len(p) == 0 {
		return nil
	}
	points := append(make([]Point, 0, 8*len(p)), p[0].P0)
	for _, s := range p {
		points = s.appendFlat(points, tol)
	}
	return points
}

// appendFlat appends the segment's points after its start. The number of equal
// parameter steps bounds the chord error by max|B”|/8n² (de Boor, A Practical
// Guide to Splines, on the error of linear interpolation).
func (s Segment) appendFlat(points []Point, tol float64) []Point {
	if s.Straight {
		return append(points, s.P3)
	}
	m := math.Max(s.Second(0).Norm(), s.Second(1).Norm())
	n := 1
	if chords := math.Sqrt(m / (8 * tol)); chords > 1 { // false for NaN
		n = int(math.Ceil(min(chords, maxChords)))
	}
	for i := 1; i < n; i++ {
		points = append(points, s.At(float64(i)/float64(n)))
	}
	return append(points, s.P3)
}
