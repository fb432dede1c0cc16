package geom

import "math"

// meet is a point that two segments share, with its parameter on each. A stretch
// on which they coincide is given by its two ends, with overlap set.
type meet struct {
	at      Point
	a, b    float64
	overlap bool
}

// meets collects the points that two segments share: two cubics cross in at most
// nine points (Bézout's theorem); two more are the ends of a shared stretch.
type meets struct {
	n int
	m [12]meet
}

// add adds a point unless it was found before.
func (ms *meets) add(at Point, a, b float64, overlap bool) {
	for i := range ms.m[:ms.n] {
		if ms.m[i].at.Near(at, mergeTol) {
			ms.m[i].overlap = ms.m[i].overlap || overlap
			return
		}
	}
	if ms.n < len(ms.m) {
		ms.m[ms.n] = meet{at, a, b, overlap}
		ms.n++
	}
}

// overlaps reports whether a shared stretch was found.
func (ms *meets) overlaps() bool {
	for i := range ms.m[:ms.n] {
		if ms.m[i].overlap {
			return true
		}
	}
	return false
}

// meetSegments adds to ms the points that s and q share within JoinTol.
func meetSegments(s, q *Segment, ms *meets) {
	if !s.hull().Grow(JoinTol).Overlaps(q.hull()) {
		return
	}
	switch {
	case s.Straight && q.Straight:
		meetLines(s.P0, s.P3, q.P0, q.P3, span{0, 1}, span{0, 1}, ms)
	case s.Straight:
		var swapped meets
		meetCubicLine(q, s, &swapped)
		for _, m := range swapped.m[:swapped.n] {
			ms.add(m.at, m.b, m.a, m.overlap)
		}
	case q.Straight:
		meetCubicLine(s, q, ms)
	default:
		c := cubicPair{s: s, q: q, ms: ms, budget: 1 << 12}
		c.search(s, span{0, 1}, q, span{0, 1})
		c.mergeTouches()
		if c.budget < 0 || ms.overlaps() {
			c.sharedRun()
		}
	}
}

// hull returns the upright box of the four points. It holds the segment and costs
// less than Bounds.
func (s *Segment) hull() Box {
	return Box{
		Point{
			min(min(s.P0.X, s.P1.X), min(s.P2.X, s.P3.X)),
			min(min(s.P0.Y, s.P1.Y), min(s.P2.Y, s.P3.Y)),
		},
		Point{
			max(max(s.P0.X, s.P1.X), max(s.P2.X, s.P3.X)),
			max(max(s.P0.Y, s.P1.Y), max(s.P2.Y, s.P3.Y)),
		},
	}
}

// span is a range of parameters.
type span struct{ lo, hi float64 }

func (r span) at(t float64) float64 { return r.lo + t*(r.hi-r.lo) }
func (r span) mid() float64         { return (r.lo + r.hi) / 2 }

// meetLines adds the points that the lines a0-a1 and b0-b1 share, with parameters
// from the spans.
func meetLines(a0, a1, b0, b1 Point, sa, sb span, ms *meets) {
	u, v, w := a1.Sub(a0), b1.Sub(b0), b0.Sub(a0)
	lu, lv := u.Norm(), v.Norm()
	switch {
	case lu <= JoinTol:
		if t, ok := onLine(a0, b0, v, lv); ok {
			ms.add(a0, sa.mid(), sb.at(t), false)
		}
		return
	case lv <= JoinTol:
		if t, ok := onLine(b0, a0, u, lu); ok {
			ms.add(b0, sa.at(t), sb.mid(), false)
		}
		return
	}
	det := u.Cross(v)
	// Parallel lines diverge by less than JoinTol over a metre.
	if math.Abs(det) > 1e-9*lu*lv {
		t, r := w.Cross(v)/det, w.Cross(u)/det
		et, er := JoinTol/lu, JoinTol/lv
		if t >= -et && t <= 1+et && r >= -er && r <= 1+er {
			t = clamp01(t)
			ms.add(a0.Lerp(a1, t), sa.at(t), sb.at(clamp01(r)), false)
			return
		}
	} else if math.Abs(w.Cross(u)) <= JoinTol*lu {
		t0, t1 := w.Dot(u)/(lu*lu), b1.Sub(a0).Dot(u)/(lu*lu)
		lo, hi := max(0, min(t0, t1)), min(1, max(t0, t1))
		if (hi-lo)*lu > JoinTol {
			ms.add(a0.Lerp(a1, lo), sa.at(lo), sb.at(clamp01((lo-t0)/(t1-t0))), true)
			ms.add(a0.Lerp(a1, hi), sa.at(hi), sb.at(clamp01((hi-t0)/(t1-t0))), true)
			return
		}
	}
	// An end may lie on the other line although the lines cross beyond it.
	for i, p := range [...]Point{a0, a1} {
		if r, ok := onLine(p, b0, v, lv); ok {
			ms.add(p, sa.at(float64(i)), sb.at(r), false)
		}
	}
	for i, p := range [...]Point{b0, b1} {
		if t, ok := onLine(p, a0, u, lu); ok {
			ms.add(p, sa.at(t), sb.at(float64(i)), false)
		}
	}
}

// onLine reports whether p lies within JoinTol of the line of length n from o
// along v, and returns its parameter there.
func onLine(p, o, v Point, n float64) (float64, bool) {
	w := p.Sub(o)
	if n <= JoinTol {
		return 0, w.Norm() <= JoinTol
	}
	t := clamp01(w.Dot(v) / (n * n))
	return t, w.Sub(v.Mul(t)).Norm() <= JoinTol
}

// clamp01 limits t to [0, 1].
func clamp01(t float64) float64 { return max(0, min(1, t)) }

// meetCubicLine adds the points that cubic s and straight q share: the roots of
// the curve's distance from the line.
func meetCubicLine(s, q *Segment, ms *meets) {
	v := q.P3.Sub(q.P0)
	n := v.Norm()
	if n <= JoinTol {
		if at, t := s.nearest(q.P0); at.Near(q.P0, JoinTol) {
			ms.add(at, t, 0.5, false)
		}
		return
	}
	side := v.Left().Mul(1 / n)
	var c, along [4]float64
	var widest float64
	for i, p := range [...]Point{s.P0, s.P1, s.P2, s.P3} {
		w := p.Sub(q.P0)
		c[i], along[i] = w.Dot(side), w.Dot(v)/n
		widest = max(widest, math.Abs(c[i]))
	}
	if widest <= JoinTol { // the curve runs along the line
		meetCollinear(s, along, n, ms)
		return
	}
	r := cubicRoots(c, JoinTol)
	for _, t := range r.t[:r.n] {
		at := s.At(t)
		d := at.Sub(q.P0).Dot(v) / n
		if d >= -JoinTol && d <= n+JoinTol {
			ms.add(at, t, clamp01(d/n), false)
		}
	}
	// At a shallow angle an end of the line may touch the curve although they
	// cross beyond it.
	for i, p := range [...]Point{q.P0, q.P3} {
		if s.hull().Grow(JoinTol).Contains(p) {
			if at, t := s.nearest(p); at.Near(p, JoinTol) {
				ms.add(at, t, float64(i), false)
			}
		}
	}
}

// meetCollinear adds the stretch that a cubic shares with the line of length n on
// which it lies; along holds the distances of its four points from the line's
// start.
func meetCollinear(s *Segment, along [4]float64, n float64, ms *meets) {
	found := roots{}
	for _, edge := range [...]float64{0, n} {
		c := along
		for i := range c {
			c[i] -= edge
		}
		r := cubicRoots(c, JoinTol)
		for _, t := range r.t[:r.n] {
			if found.n < len(found.t) {
				found.t[found.n] = t
				found.n++
			}
		}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range append(found.t[:found.n:found.n], 0, 1) {
		if d := bernstein3(&along, t); d >= -JoinTol && d <= n+JoinTol {
			lo, hi = min(lo, t), max(hi, t)
		}
	}
	if lo > hi {
		return
	}
	a, b := s.At(lo), s.At(hi)
	run := a.Dist(b) > JoinTol
	ms.add(a, lo, clamp01(bernstein3(&along, lo)/n), run)
	ms.add(b, hi, clamp01(bernstein3(&along, hi)/n), run)
}
