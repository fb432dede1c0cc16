package geom

import (
	"cmp"
	"math"
	"slices"
)

// Crossing is a point that two paths share, or that one path passes twice: where
// they cross, where they touch within JoinTol, or an end of a stretch on which
// they coincide.
type Crossing struct {
	At             Point
	A, B           float64 // mm along the first and second path
	IndexA, IndexB int     // the segments
	ParamA, ParamB float64
	Overlap        bool // an end of a stretch on which they coincide
}

// Crossings returns the points that s and q share, in the order of s. A touch
// counts once. A stretch on which they coincide gives its two ends, with Overlap
// set. A and B are mm from the segments' starts.
func (s Segment) Crossings(q Segment) []Crossing {
	return Path{s}.Crossings(Path{q})
}

// Crossings returns the points that p and q share, in the order of p. A point at a
// join counts once, and so does a touch. A stretch on which they coincide gives
// its ends, with Overlap set.
func (p Path) Crossings(q Path) []Crossing {
	var found []Crossing
	var fromA, fromB float64
	for i := range p {
		fromB = 0
		for j := range q {
			var ms meets
			meetSegments(&p[i], &q[j], &ms)
			for _, m := range ms.m[:ms.n] {
				found = append(found, Crossing{
					At: m.at, IndexA: i, IndexB: j, ParamA: m.a, ParamB: m.b, Overlap: m.overlap,
					A: fromA + p[i].LengthTo(m.a), B: fromB + q[j].LengthTo(m.b),
				})
			}
			fromB += q[j].Length()
		}
		fromA += p[i].Length()
	}
	return sortCrossings(found, loopOf(p, fromA), loopOf(q, fromB))
}

// SelfCrossings returns the points that p passes twice, A before B. Joins and
// loops shorter than OffsetTol do not count; a cubic's own loop does. A stretch
// that runs out and back gives its ends, with Overlap set; a cubic folded on
// itself gives its fold.
func (p Path) SelfCrossings() []Crossing {
	var found []Crossing
	add := func(i, j int, m meet) {
		found = append(found, Crossing{
			At: m.at, IndexA: i, IndexB: j, ParamA: m.a, ParamB: m.b, Overlap: m.overlap,
			A: p[:i].Length() + p[i].LengthTo(m.a), B: p[:j].Length() + p[j].LengthTo(m.b),
		})
	}
	closed := p.Closed()
	for i := range p {
		if m, ok := p[i].ownLoop(); ok {
			add(i, i, m)
		}
		for j := i + 1; j < len(p); j++ {
			if j == i+1 && continues(&p[i], &p[j]) || closed && i == 0 && j == len(p)-1 && continues(&p[j], &p[i]) {
				continue
			}
			var ms meets
			meetSegments(&p[i], &p[j], &ms)
			for _, m := range ms.m[:ms.n] {
				add(i, j, m)
			}
		}
	}
	if len(found) == 0 {
		return nil
	}
	loop := loopOf(p, p.Length())
	found = slices.DeleteFunc(found, func(c Crossing) bool { // joins
		walk := c.B - c.A
		return !c.Overlap && (walk <= OffsetTol || loop > 0 && loop-walk <= OffsetTol)
	})
	return sortCrossings(found, loop, loop)
}

// Simple reports whether SelfCrossings finds nothing.
func (p Path) Simple() bool { return len(p.SelfCrossings()) == 0 }

// continues reports whether b continues from the end of a in the same general
// direction, so that they share only the join.
func continues(a, b *Segment) bool {
	u := b.P3.Sub(a.P0)
	for _, s := range [...]*Segment{a, b} {
		if !(s.P1.Sub(s.P0).Dot(u) > 0 && s.P2.Sub(s.P1).Dot(u) > 0 && s.P3.Sub(s.P2).Dot(u) > 0) {
			return false
		}
	}
	return true
}

// loopOf returns the length of a closed path, and zero for an open one.
func loopOf(p Path, length float64) float64 {
	if p.Closed() {
		return length
	}
	return 0
}

// sortCrossings sorts crossings along the first path and removes those found a
// second time, from the other side of a join.
func sortCrossings(found []Crossing, loopA, loopB float64) []Crossing {
	slices.SortFunc(found, func(a, b Crossing) int {
		return cmp.Or(cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B))
	})
	unique := found[:0]
	for _, c := range found {
		repeat := slices.IndexFunc(unique, func(k Crossing) bool {
			return apart(k.A, c.A, loopA) <= 2*mergeTol && apart(k.B, c.B, loopB) <= 2*mergeTol
		})
		if repeat < 0 {
			unique = append(unique, c)
		} else {
			unique[repeat].Overlap = unique[repeat].Overlap || c.Overlap
		}
	}
	return unique
}

// apart returns the distance between two positions along a path, the shorter way
// around if it is a loop.
func apart(a, b, loop float64) float64 {
	d := math.Abs(a - b)
	if loop > 0 {
		d = min(d, loop-d)
	}
	return d
}

// ownLoop returns the point where a cubic crosses itself. For B = at³+bt²+ct+d a double
// point at t and r has a(t²+tr+r²)+b(t+r)+c = 0; its cross products with a
// and b give t+r and tr.
func (s *Segment) ownLoop() (meet, bool) {
	if s.Straight {
		return meet{}, false
	}
	a := s.P3.Sub(s.P0).Add(s.P1.Sub(s.P2).Mul(3))
	b := s.P0.Sub(s.P1.Mul(2)).Add(s.P2).Mul(3)
	c := s.P1.Sub(s.P0).Mul(3)
	ab := a.Cross(b)
	if math.Abs(ab) <= 1e-12*a.Norm()*b.Norm() {
		return s.foldBack(a, b, c)
	}
	sum := a.Cross(c) / -ab
	product := sum*sum - b.Cross(c)/ab
	disc := sum*sum/4 - product
	if !(disc > 0) {
		return meet{}, false
	}
	h := math.Sqrt(disc)
	t, r := sum/2-h, sum/2+h
	if t < 0 || r > 1 {
		return meet{}, false
	}
	return meet{at: s.At(t), a: t, b: r}, true
}

// foldBack returns the point where a cubic that lies on one line turns back.
func (s *Segment) foldBack(a, b, c Point) (meet, bool) {
	u := s.P3.Sub(s.P0)
	for _, v := range [...]Point{a, b, c} {
		if v.Norm() > u.Norm() {
			u = v
		}
	}
	n := u.Norm()
	if !(n > 0) || math.Abs(u.Cross(b)) > JoinTol*n || math.Abs(u.Cross(c)) > JoinTol*n {
		return meet{}, false
	}
	turns := quadraticRoots(s.P1.Sub(s.P0).Dot(u), s.P2.Sub(s.P1).Dot(u), s.P3.Sub(s.P2).Dot(u))
	if turns.n == 0 {
		return meet{}, false
	}
	// The stretch passed twice is the shorter of those beside the turn.
	t := turns.t[0]
	at := s.At(t)
	reach := min(at.Dist(s.P0), at.Dist(s.P3))
	if turns.n == 2 {
		reach = min(at.Dist(s.P0), at.Dist(s.At(turns.t[1])))
	}
	if reach <= JoinTol {
		return meet{}, false
	}
	return meet{at: at, a: 0, b: 1, overlap: true}, true
}
