package geom

import (
	"math"
	"slices"
)

const (
	// MitreLimit is how many distances the tip of a mitre may lie from its
	// corner (the default of SVG's stroke-miterlimit, W3C SVG 2, section
	// 13.5.4). A sharper corner is cut square one distance beyond its point.
	MitreLimit = 4

	// maxCoordinate is the largest coordinate in mm of a path with a parallel:
	// beyond ten kilometres float64 leaves no room for the tolerance.
	maxCoordinate = 1e7
)

// Offset returns the parallel to p at distance d mm to the left of travel, outward
// on a clockwise outline; d may be negative. Curves stay cubics and lie within
// tol of their distance (tol <= 0 means OffsetTol).
//
// At a corner that opens, the parallel is mitred. At a corner that closes, it is
// trimmed where the two sides meet, and so is a curve that bends more tightly
// than d, so that the result never loops there. A side too short to reach the
// trim is extended straight past the path's end. Only parts that cross are
// trimmed: where an open path's end curls back to within d of another part of
// it, the parallel comes too near there. If the parallel of an outline falls
// apart, the part with the longest stretch is returned.
//
// The result is nil if nothing is left of the parallel, and if d or a coordinate
// of p is not a number or beyond ten kilometres.
func (p Path) Offset(d, tol float64) Path {
	if !(tol > 0) {
		tol = OffsetTol
	}
	tol = max(tol, JoinTol)
	src := p.strokes()
	if len(src) == 0 || !(math.Abs(d) <= maxCoordinate) {
		return nil
	}
	if d == 0 {
		return src
	}
	o := parallel{src: src, d: d, tol: tol, closed: p.Closed()}
	o.build()
	return o.trimmed()
}

// strokes returns the path without segments of no length, cut where a cubic
// stands still, or nil if a coordinate is too large.
func (p Path) strokes() Path {
	out := make(Path, 0, len(p)+2)
	for _, s := range p {
		h := s.hull()
		if !(Box{Pt(-maxCoordinate, -maxCoordinate), Pt(maxCoordinate, maxCoordinate)}).Holds(h) {
			return nil
		}
		if h.Width()+h.Height() <= JoinTol {
			continue
		}
		if s.Straight {
			out = append(out, s)
			continue
		}
		out = appendCutAtCusps(out, s)
	}
	return out
}

// appendCutAtCusps appends s cut at the points inside it where it stands still.
func appendCutAtCusps(out Path, s Segment) Path {
	var cuts roots
	scale := s.P0.Dist(s.P1) + s.P1.Dist(s.P2) + s.P2.Dist(s.P3)
	for _, r := range extrema(s) {
		for _, t := range r.t[:r.n] {
			if s.Deriv(t).Norm() <= 1e-6*scale {
				cuts.add(t)
			}
		}
	}
	from := 0.0
	for _, t := range cuts.t[:cuts.n] {
		if t-from > 1e-6 && t < 1-1e-6 {
			out = append(out, s.Part(from, t))
			from = t
		}
	}
	return append(out, s.Part(from, 1))
}

// parallel builds an offset: first the strokes and the corners between them, then
// the trim.
type parallel struct {
	src    Path
	d, tol float64
	closed bool
	raw    []stroke
}

// stroke is a stretch of the untrimmed parallel.
type stroke struct {
	Segment
	waste bool // nearer to the path than d: inside a closing corner or a bend tighter than d
}

// add appends a stroke.
func (o *parallel) add(s Segment, waste bool) { o.raw = append(o.raw, stroke{s, waste}) }

// build makes the untrimmed parallel.
func (o *parallel) build() {
	o.raw = make([]stroke, 0, 3*len(o.src)+4)
	for i := range o.src {
		at := len(o.raw)
		o.addStroke(&o.src[i])
		if i > 0 {
			link := o.link(&o.raw[at-1], &o.raw[at], &o.src[i-1], &o.src[i])
			o.raw = slices.Insert(o.raw, at, link...)
		}
	}
	if o.closed {
		last := len(o.raw) - 1
		link := o.link(&o.raw[last], &o.raw[0], &o.src[len(o.src)-1], &o.src[0])
		o.raw = append(o.raw, link...)
	}
}

// link makes stroke x meet stroke y at the corner between source segments a and
// b, and returns the strokes between them.
func (o *parallel) link(x, y *stroke, a, b *Segment) []stroke {
	ta, tb := a.Tangent(1), b.Tangent(0)
	v, e, f := a.P3, x.P3, y.P0
	turn := AngleBetween(ta, tb)
	if e.Dist(f) <= o.tol/4 {
		m := e.Lerp(f, 0.5)
		x.endAt(m)
		y.startAt(m)
		return nil
	}
	// A turn by half opens on both sides.
	if turn*o.d < 0 && math.Abs(turn) < math.Pi-1e-9 {
		return []stroke{{Line(e, f), true}}
	}
	// The corner opens: extend both sides along their tangents.
	half := math.Abs(turn) / 2
	out := ta.Sub(tb).Unit() // along the bisector
	if math.Cos(half)*MitreLimit >= 1 {
		return mitre(x, y, v.Add(out.Mul(math.Abs(o.d)/math.Cos(half))))
	}
	// Too sharp: cut square one distance beyond the corner.
	tip := v.Add(out.Mul(math.Abs(o.d)))
	across := out.Right()
	m, _, _, ok1 := MeetLines(e, ta, tip, across)
	n, _, _, ok2 := MeetLines(f, tb, tip, across)
	if !ok1 || !ok2 {
		return []stroke{{Line(e, f), false}}
	}
	return []stroke{{Line(e, m), false}, {Line(m, n), false}, {Line(n, f), false}}
}

// mitre extends x and y to the tip: straight strokes by moving their ends, curves
// by the lines that it returns.
func mitre(x, y *stroke, tip Point) []stroke {
	var link []stroke
	if x.Straight && !x.waste {
		x.endAt(tip)
	} else {
		link = append(link, stroke{Line(x.P3, tip), false})
	}
	if y.Straight && !y.waste {
		y.startAt(tip)
	} else {
		link = append(link, stroke{Line(tip, y.P0), false})
	}
	return link
}

// endAt moves the end of the stroke, and the handle with it.
func (s *stroke) endAt(p Point) {
	if s.Straight {
		s.Segment = Line(s.P0, p)
		return
	}
	s.P2 = s.P2.Add(p.Sub(s.P3))
	s.P3 = p
}

// startAt moves the start of the stroke, and the handle with it.
func (s *stroke) startAt(p Point) {
	if s.Straight {
		s.Segment = Line(p, s.P3)
		return
	}
	s.P1 = s.P1.Add(p.Sub(s.P0))
	s.P0 = p
}
