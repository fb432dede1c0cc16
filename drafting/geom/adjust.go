package geom

import (
	"math"
	"slices"
)

// MoveEnd returns the path with its end moved to at, a small distance. The
// handle of a curve moves with its end. A last segment no longer than the move
// is dropped first: it would turn round.
func (p Path) MoveEnd(at Point) Path {
	out := slices.Clone(p)
	for len(out) > 1 && out[len(out)-1].Length() <= out.End().Dist(at) {
		out = out[:len(out)-1]
	}
	if len(out) == 0 {
		return nil
	}
	s := &out[len(out)-1]
	if s.Straight {
		*s = Line(s.P0, at)
	} else {
		s.P2, s.P3 = s.P2.Add(at.Sub(s.P3)), at
	}
	return out
}

// MoveStart returns the path with its start moved to at, as MoveEnd does with
// its end.
func (p Path) MoveStart(at Point) Path { return p.Reverse().MoveEnd(at).Reverse() }

// WithoutSpecks returns the path without segments shorter than size: what
// follows, or at the end what comes before, takes their place.
func (p Path) WithoutSpecks(size float64) Path {
	out := slices.Clone(p)
	for i := 0; i < len(out) && len(out) > 1; {
		if out[i].Length() >= size {
			i++
			continue
		}
		start, end := out[i].P0, out[i].P3
		out = slices.Delete(out, i, i+1)
		if i < len(out) {
			copy(out[i:i+1], out[i:i+1].MoveStart(start))
		} else {
			copy(out[i-1:], out[i-1:].MoveEnd(end))
		}
	}
	return out
}

// MergeLines returns the path with straight lines that continue each other
// merged into one.
func (p Path) MergeLines() Path {
	out := make(Path, 0, len(p))
	for _, s := range p {
		if n := len(out); n > 0 && out[n-1].ContinuedBy(s) {
			out[n-1] = Line(out[n-1].P0, s.P3)
			continue
		}
		out = append(out, s)
	}
	return out
}

// MergeClosedLines returns a closed path with straight lines merged as MergeLines
// does, also over its start.
func (p Path) MergeClosedLines() Path {
	out := p.MergeLines()
	if n := len(out); n > 1 && out[n-1].ContinuedBy(out[0]) {
		out[0] = Line(out[n-1].P0, out[0].P3)
		out = out[:n-1]
	}
	return out
}

// ContinuedBy reports whether s and next are straight and next carries s on
// without a turn.
func (s Segment) ContinuedBy(next Segment) bool {
	if !s.Straight || !next.Straight {
		return false
	}
	u, v := s.P3.Sub(s.P0), next.P3.Sub(next.P0)
	off := u.Cross(next.P3.Sub(s.P0).Unit()) // of the join from the line past it
	return u.Dot(v) > 0 && math.Abs(off) <= JoinTol
}

// IsStraight reports whether no point of the path lies more than tol mm off the
// straight line from its start to its end.
func (p Path) IsStraight(tol float64) bool {
	u := p.End().Sub(p.Start()).Unit()
	for _, s := range p {
		for _, q := range [...]Point{s.P1, s.P2, s.P3} {
			if math.Abs(u.Cross(q.Sub(p.Start()))) > tol {
				return false
			}
		}
	}
	return true
}

// minClip is the length in mm under which ClipTo drops a part.
const minClip = 0.01

// ClipTo returns the parts of the path that lie inside a closed outline.
func (p Path) ClipTo(outline Path) []Path {
	var cuts []float64
	for _, c := range p.Crossings(outline) {
		cuts = append(cuts, c.A)
	}
	slices.Sort(cuts)
	cuts = append(cuts, p.Length())
	var parts []Path
	from := 0.0
	for _, to := range cuts {
		if to-from < minClip {
			continue
		}
		if outline.Contains(p.At((from + to) / 2)) {
			part := p.Part(from, to)
			if k := len(parts); k > 0 && parts[k-1].End().Near(part.Start(), minClip) {
				parts[k-1] = Join(parts[k-1], part).MergeLines()
			} else {
				parts = append(parts, part)
			}
		}
		from = to
	}
	return parts
}

// Scale returns the path scaled by k about a point.
func (p Path) Scale(about Point, k float64) Path {
	return p.Map(func(q Point) Point { return about.Add(q.Sub(about).Mul(k)) })
}

// Map returns the path with f applied to its points and handles, those of a
// straight line only to its ends.
func (p Path) Map(f func(Point) Point) Path {
	out := make(Path, len(p))
	for i, s := range p {
		if s.Straight {
			out[i] = Line(f(s.P0), f(s.P3))
		} else {
			out[i] = Cubic(f(s.P0), f(s.P1), f(s.P2), f(s.P3))
		}
		if i > 0 {
			out[i].P0 = out[i-1].P3
		}
	}
	return out
}

// Stretch returns the path with its ends moved to start and end. It stretches
// along both axes of the paper, so that a curve that leaves square to the
// centre still does. A path that runs along one axis, or out and back along the
// other as an armhole does, is sheared along its longer axis instead: its ends
// keep their directions.
func (p Path) Stretch(start, end Point) Path {
	o, was, want := p.Start(), p.End().Sub(p.Start()), end.Sub(start)
	box := p.Bounds()
	// straight reports whether a path crosses an extent about once, not out and back.
	straight := func(chord, extent float64) bool {
		return math.Abs(chord) > 0.05*was.Norm() && math.Abs(chord) > 0.9*extent
	}
	along := func(q Point) Point { return q.Sub(o) }
	switch n := was.Norm(); {
	case n == 0:
	case straight(was.X, box.Width()) && straight(was.Y, box.Height()):
		kx, ky := want.X/was.X, want.Y/was.Y
		along = func(q Point) Point { return Pt(kx*(q.X-o.X), ky*(q.Y-o.Y)) }
	case math.Abs(was.X) > math.Abs(was.Y):
		k, shear := want.X/was.X, (want.Y-was.Y)/was.X
		along = func(q Point) Point { return Pt(k*(q.X-o.X), q.Y-o.Y+shear*(q.X-o.X)) }
	default:
		k, shear := want.Y/was.Y, (want.X-was.X)/was.Y
		along = func(q Point) Point { return Pt(q.X-o.X+shear*(q.Y-o.Y), k*(q.Y-o.Y)) }
	}
	return p.Map(func(q Point) Point { return start.Add(along(q)) }).MoveEnd(end)
}
