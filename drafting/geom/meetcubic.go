package geom

import "math"

// cubicPair searches two cubics for the points they share. It halves the longer
// one while their boxes and strips overlap. Where their directions cannot agree
// they meet at most once, and Newton's method finds the point.
type cubicPair struct {
	s, q   *Segment
	ms     *meets
	budget int // steps left; used up only where the cubics coincide
}

// search adds the points that two stretches of the cubics share.
func (c *cubicPair) search(s *Segment, sa span, q *Segment, sb span) {
	if c.budget--; c.budget < 0 {
		return
	}
	hs, hq := s.hull(), q.hull()
	if !hs.Grow(JoinTol).Overlaps(hq) || offStrip(s, q) || offStrip(q, s) {
		return
	}
	if conesDiffer(s, q) && c.newton(sa, sb) {
		return
	}
	if s.bend() <= chordTol && q.bend() <= chordTol {
		meetLines(s.P0, s.P3, q.P0, q.P3, sa, sb, c.ms)
		return
	}
	// Halve the longer one, but never one that is flat already.
	if q.bend() <= chordTol || s.bend() > chordTol && hs.Width()+hs.Height() >= hq.Width()+hq.Height() {
		l, r := s.Split(0.5)
		m := sa.mid()
		if m <= sa.lo || m >= sa.hi {
			return
		}
		c.search(&l, span{sa.lo, m}, q, sb)
		c.search(&r, span{m, sa.hi}, q, sb)
		return
	}
	l, r := q.Split(0.5)
	m := sb.mid()
	if m <= sb.lo || m >= sb.hi {
		return
	}
	c.search(s, sa, &l, span{sb.lo, m})
	c.search(s, sa, &r, span{m, sb.hi})
}

// bend returns a bound on the distance of the cubic from its chord at the same
// parameter.
func (s *Segment) bend() float64 {
	a := s.P0.Sub(s.P1.Mul(2)).Add(s.P2)
	b := s.P1.Sub(s.P2.Mul(2)).Add(s.P3)
	return 0.75 * math.Sqrt(max(a.Dot(a), b.Dot(b)))
}

// offStrip reports whether q lies clear of the strip along the chord of s
// that holds s (its fat line: Sederberg and Nishita, Curve intersection using
// Bézier clipping, 1990).
func offStrip(s, q *Segment) bool {
	v := s.P3.Sub(s.P0)
	n := math.Sqrt(v.Dot(v))
	if !(n > JoinTol) {
		return false
	}
	h := v.Left()
	d1, d2 := s.P1.Sub(s.P0).Dot(h), s.P2.Sub(s.P0).Dot(h)
	lo, hi := min(0, min(d1, d2))-JoinTol*n, max(0, max(d1, d2))+JoinTol*n
	e0, e1 := q.P0.Sub(s.P0).Dot(h), q.P1.Sub(s.P0).Dot(h)
	e2, e3 := q.P2.Sub(s.P0).Dot(h), q.P3.Sub(s.P0).Dot(h)
	return min(min(e0, e1), min(e2, e3)) > hi || max(max(e0, e1), max(e2, e3)) < lo
}

// conesDiffer reports whether s and q have no direction in common, forwards or
// backwards: then they cross at most once.
func conesDiffer(s, q *Segment) bool {
	ls := [3]Point{s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)}
	lq := [3]Point{q.P1.Sub(q.P0), q.P2.Sub(q.P1), q.P3.Sub(q.P2)}
	positive := ls[0].Cross(lq[0]) > 0
	for _, a := range ls {
		for _, b := range lq {
			x := a.Cross(b)
			if x == 0 || (x > 0) != positive {
				return false
			}
		}
	}
	return true
}

// newton solves s(a) = q(b) from the middle of both stretches and reports
// whether it found a crossing inside them.
func (c *cubicPair) newton(sa, sb span) bool {
	a, b := sa.mid(), sb.mid()
	for range 12 {
		f := c.q.At(b).Sub(c.s.At(a))
		da, db := c.s.Deriv(a), c.q.Deriv(b)
		det := da.Cross(db)
		if det == 0 {
			return false
		}
		stepA, stepB := f.Cross(db)/det, f.Cross(da)/det
		a, b = a+stepA, b+stepB
		// Out of reach: halving goes on.
		wa, wb := sa.hi-sa.lo, sb.hi-sb.lo
		if !(a > sa.lo-wa && a < sa.hi+wa && b > sb.lo-wb && b < sb.hi+wb) {
			return false
		}
		if math.Abs(stepA) <= 1e-14 && math.Abs(stepB) <= 1e-14 ||
			math.Abs(stepA)*da.Norm()+math.Abs(stepB)*db.Norm() <= 1e-10 {
			const slack = 1e-12
			if a < sa.lo-slack || a > sa.hi+slack || b < sb.lo-slack || b > sb.hi+slack {
				return false
			}
			a, b = clamp01(a), clamp01(b)
			c.ms.add(c.s.At(a), a, b, false)
			return true
		}
	}
	return false
}

// mergeTouches merges points between which the cubics stay together: where they
// touch, they lie within JoinTol of each other for a short way.
func (c *cubicPair) mergeTouches() {
	ms := c.ms
	for i := 0; i < ms.n; i++ {
		for j := i + 1; j < ms.n; j++ {
			e, f := ms.m[i], ms.m[j]
			if e.overlap || f.overlap || !e.at.Near(f.at, 1) || !c.together(e.a, f.a, 2*JoinTol) {
				continue
			}
			e.a = (e.a + f.a) / 2
			e.at = c.s.At(e.a)
			_, e.b = c.q.nearest(e.at)
			ms.m[i] = e
			ms.n--
			ms.m[j] = ms.m[ms.n]
			j = i
		}
	}
}

// together reports whether s stays within tol of q between two parameters.
func (c *cubicPair) together(from, to, tol float64) bool {
	for _, k := range [...]float64{0.2, 0.5, 0.8} {
		p := c.s.At(from + k*(to-from))
		if at, _ := c.q.nearest(p); !at.Near(p, tol) {
			return false
		}
	}
	return true
}

// sharedRun replaces the points found by the ends of the stretch on which the two
// cubics coincide, if there is one. It ends where one of them does, since they
// are then parts of one curve.
func (c *cubicPair) sharedRun() {
	var ends meets
	for i, p := range [...]Point{c.s.P0, c.s.P3} {
		if at, t := c.q.nearest(p); at.Near(p, mergeTol) {
			ends.add(p, float64(i), t, true)
		}
	}
	for i, p := range [...]Point{c.q.P0, c.q.P3} {
		if at, t := c.s.nearest(p); at.Near(p, mergeTol) {
			ends.add(p, t, float64(i), true)
		}
	}
	if ends.n >= 2 && c.together(ends.m[0].a, ends.m[1].a, mergeTol) {
		*c.ms = ends
		return
	}
	for i := range c.ms.m[:c.ms.n] { // a very close touch
		c.ms.m[i].overlap = false
	}
}
