package geom

import (
	"fmt"
	"math"
	"slices"
)

// JoinTol is the widest gap in mm that still counts as a join: far above the
// noise of float64 at the size of a garment, far below any cutter's accuracy.
const JoinTol = 1e-6

// Path is an unbroken run of segments, each starting where the one before it
// ends. The nil Path is empty. Treat it as a value: functions return new
// paths and never write into one.
type Path []Segment

// A GapError says that a path's segments do not join.
type GapError struct {
	Index int     // the segment that starts away from its predecessor's end
	Gap   float64 // mm
}

func (e *GapError) Error() string {
	return fmt.Sprintf("path broken before segment %d: gap %.4g mm", e.Index, e.Gap)
}

// NewPath joins segments, or returns a *GapError.
func NewPath(segments ...Segment) (Path, error) {
	p := Path(slices.Clone(segments))
	return p, p.Check()
}

// Check returns a *GapError where two segments do not join.
func (p Path) Check() error {
	for i := 1; i < len(p); i++ {
		if gap := p[i].P0.Dist(p[i-1].P3); !(gap <= JoinTol) {
			return &GapError{Index: i, Gap: gap}
		}
	}
	return nil
}

// Polyline is the path of straight lines through the points.
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

// Join is the paths one after another.
func Join(paths ...Path) Path { return slices.Concat(paths...) }

// Start is where the path sets off; the origin for an empty path.
func (p Path) Start() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[0].P0
}

// End is where the path arrives; the origin for an empty path.
func (p Path) End() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[len(p)-1].P3
}

// StartTangent is the unit direction in which the path sets off; zero for an
// empty path.
func (p Path) StartTangent() Point {
	for i := range p {
		if u := p[i].Tangent(0); u != (Point{}) {
			return u
		}
	}
	return Point{}
}

// EndTangent is the unit direction in which the path arrives; zero for an
// empty path.
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

// Length is the sum of the segments' lengths.
func (p Path) Length() float64 {
	var sum float64
	for _, s := range p {
		sum += s.Length()
	}
	return sum
}

// locate finds the segment and parameter d mm along the path. Before the
// start it gives the start, beyond the end the end.
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

// At is the point d mm along the path; before the start it is the start,
// beyond the end the end.
func (p Path) At(d float64) Point {
	if len(p) == 0 {
		return Point{}
	}
	i, t := p.locate(d)
	return p[i].At(t)
}

// TangentAt is the unit direction d mm along the path.
func (p Path) TangentAt(d float64) Point {
	if len(p) == 0 {
		return Point{}
	}
	i, t := p.locate(d)
	return p[i].Tangent(t)
}

// SplitAt cuts the path d mm along it. Cut at or beyond an end, that side is
// nil. A cut within JoinTol of a join is made at the join, so that no sliver
// is left whose direction would be noise.
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

// Part is the run from d0 to d1 mm along the path.
func (p Path) Part(d0, d1 float64) Path {
	before, _ := p.SplitAt(d1)
	_, part := before.SplitAt(d0)
	return part
}

// Reverse is the path walked the other way.
func (p Path) Reverse() Path {
	r := make(Path, len(p))
	for i, s := range p {
		r[len(p)-1-i] = s.Reverse()
	}
	return r
}

// Move is the path after m. A motion that turns the paper over also turns the
// sense of a closed outline; see Reverse.
func (p Path) Move(m Motion) Path {
	r := make(Path, len(p))
	for i, s := range p {
		r[i] = s.Move(m)
	}
	return r
}

// Bounds is the smallest upright box holding the path.
func (p Path) Bounds() Box {
	b := EmptyBox()
	for _, s := range p {
		b = b.Union(s.Bounds())
	}
	return b
}

// Area is the area enclosed by a closed path, positive when it is walked
// clockwise as seen; exact for its curves (Green's theorem on each cubic).
// An open path is closed by a straight line.
func (p Path) Area() float64 {
	if len(p) == 0 {
		return 0
	}
	o := p[0].P0 // near the outline: keeps the sum free of cancellation
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

// maxChords bounds the chords of one segment, whatever its size or the
// tolerance asked for.
const maxChords = 1 << 14

// Flatten is the path as points no farther than tol mm from it, its ends and
// joins included.
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

// appendFlat adds the segment's points after its start. The number of equal
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
