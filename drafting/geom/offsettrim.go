package geom

import (
	"cmp"
	"math"
	"slices"
)

// trimmed is the raw parallel without its waste.
func (o *parallel) trimmed() Path {
	t := trim{parallel: o}
	t.meetings()
	if len(t.jumps) == 0 && !slices.ContainsFunc(o.raw, func(s stroke) bool { return s.waste }) {
		return o.path()
	}
	t.cut()
	if o.closed {
		return t.ring()
	}
	run, whole := t.best()
	if whole {
		return run
	}
	// An end was lost: carry the path on straight past both ends, so that a
	// short side reaches what it is trimmed against.
	if longer, ok := o.carriedOn(); ok {
		return longer
	}
	return run
}

func (o *parallel) path() Path {
	p := make(Path, len(o.raw))
	for i, s := range o.raw {
		p[i] = s.Segment
	}
	return p
}

// trim finds the way along the raw parallel that leaves its waste out: the
// strokes are cut where they cross, and from a crossing the way may jump ahead
// to the other stroke. Of all ways the one that keeps the most sound length
// is taken.
type trim struct {
	*parallel
	jumps  []jump
	pieces []piece
}

// jump leads from one place of the raw parallel ahead to another.
type jump struct {
	from, to place
	a, b     int // the pieces that start there
}

// place is a stroke and a parameter on it.
type place struct {
	stroke int
	t      float64
}

func (p place) compare(q place) int {
	return cmp.Or(cmp.Compare(p.stroke, q.stroke), cmp.Compare(p.t, q.t))
}

// piece is a stretch of one stroke between crossings.
type piece struct {
	stroke int
	span
	worth float64 // mm kept; far below zero where it must not be
}

// meetings finds where sound strokes cross.
func (t *trim) meetings() {
	n := len(t.raw)
	for i := range t.raw {
		if t.raw[i].waste {
			continue
		}
		for j := i + 1; j < n; j++ {
			if t.raw[j].waste || j == i+1 && goOn(&t.raw[i].Segment, &t.raw[j].Segment) {
				continue
			}
			var ms meets
			meetSegments(&t.raw[i].Segment, &t.raw[j].Segment, &ms)
			for _, m := range ms.m[:ms.n] {
				if j == i+1 && m.at.Near(t.raw[i].P3, mergeTol) ||
					t.closed && i == 0 && j == n-1 && m.at.Near(t.raw[0].P0, mergeTol) {
					continue // a join
				}
				t.jumps = append(t.jumps, jump{from: place{i, m.a}, to: place{j, m.b}})
			}
		}
	}
}

// cut makes the pieces and tells each jump where it starts and lands.
func (t *trim) cut() {
	places := make([]place, 0, len(t.raw)+2*len(t.jumps))
	for i := range t.raw {
		places = append(places, place{i, 0})
	}
	for _, j := range t.jumps {
		places = append(places, j.from, j.to)
	}
	slices.SortFunc(places, place.compare)
	places = slices.Compact(places)
	t.pieces = make([]piece, len(places))
	for i, p := range places {
		end := 1.0
		if i+1 < len(places) && places[i+1].stroke == p.stroke {
			end = places[i+1].t
		}
		t.pieces[i] = piece{stroke: p.stroke, span: span{p.t, end}}
		t.pieces[i].worth = t.worth(&t.pieces[i])
	}
	for i := range t.jumps {
		j := &t.jumps[i]
		j.a, _ = slices.BinarySearchFunc(places, j.from, place.compare)
		j.b, _ = slices.BinarySearchFunc(places, j.to, place.compare)
	}
}

// worth is the piece's length; a penalty if it is waste or its middle comes too
// near to the path; next to nothing if only an end does, which another way
// round may avoid.
func (t *trim) worth(p *piece) float64 {
	const penalty = 1e4
	s := &t.raw[p.stroke]
	n := s.LengthTo(p.hi) - s.LengthTo(p.lo)
	near := func(k float64) bool {
		_, _, _, d := t.src.nearest(s.At(p.at(k)))
		return d < math.Abs(t.d)-0.95*t.tol
	}
	switch {
	case s.waste:
		return -penalty * (n + 1)
	case near(0.5):
		return -penalty * n
	case near(0.02) || near(0.98):
		return 1e-3 * n
	}
	return n
}

// way finds the worthiest way from piece first to the end of the last piece.
// Ends are free if loose; then it may start at any piece and stop after any.
func (t *trim) way(loose bool) (steps []int, worth float64) {
	n := len(t.pieces)
	into := make([][]int, n) // jumps that land at a piece
	for k, j := range t.jumps {
		into[j.b] = append(into[j.b], k)
	}
	// best[i] is the worth of the best way to the start of piece i, from[i]
	// the place it came from: a piece walked (i-1) or a jump's start.
	best, from := make([]float64, n+1), make([]int, n+1)
	for i := range best {
		best[i], from[i] = math.Inf(-1), -1
		if i == 0 || loose {
			best[i] = 0
		}
		if i > 0 {
			if w := best[i-1] + t.pieces[i-1].worth; w > best[i] {
				best[i], from[i] = w, i-1
			}
		}
		if i < n {
			for _, k := range into[i] {
				if a := t.jumps[k].a; best[a] > best[i] {
					best[i], from[i] = best[a], a
				}
			}
		}
	}
	end := n
	if loose {
		for i := n; i >= 0; i-- {
			if best[i] > best[end] {
				end = i
			}
		}
	}
	for i := end; from[i] >= 0; i = from[i] {
		if from[i] == i-1 && best[i] == best[i-1]+t.pieces[i-1].worth {
			steps = append(steps, i-1)
		}
	}
	slices.Reverse(steps)
	return steps, best[end]
}

// assemble is the path along the pieces, neighbours on one stroke in one.
func (t *trim) assemble(steps []int) Path {
	var p Path
	for i := 0; i < len(steps); {
		a := t.pieces[steps[i]]
		i++
		for i < len(steps) && t.pieces[steps[i]].stroke == a.stroke && t.pieces[steps[i]].lo == a.hi {
			a.hi = t.pieces[steps[i]].hi
			i++
		}
		s := t.raw[a.stroke].Part(a.lo, a.hi)
		if s.P0.Dist(s.P3) <= JoinTol && s.Length() <= JoinTol {
			continue
		}
		if len(p) > 0 { // crossings are exact to JoinTol: close the gap
			x := stroke{Segment: s}
			x.startAt(p.End())
			s = x.Segment
		}
		p = append(p, s)
	}
	return p
}

// best is the worthiest way along an open parallel, and whether it has both
// its ends.
func (t *trim) best() (Path, bool) {
	steps, worth := t.way(true)
	if worth <= JoinTol || len(steps) == 0 {
		return nil, false
	}
	whole := steps[0] == 0 && steps[len(steps)-1] == len(t.pieces)-1
	return t.assemble(steps), whole
}

// carriedOn trims the parallel of the path made longer at both ends, then
// takes what was added off again.
func (o *parallel) carriedOn() (Path, bool) {
	reach := 4*math.Abs(o.d) + o.src.Length()
	a, b := o.src.Start(), o.src.End()
	before := Line(a.Sub(o.src.StartTangent().Mul(reach)), a)
	after := Line(b, b.Add(o.src.EndTangent().Mul(reach)))
	l := parallel{src: Join(Path{before}, o.src, Path{after}), d: o.d, tol: o.tol}
	l.build()
	t := trim{parallel: &l}
	t.meetings()
	t.cut()
	steps, worth := t.way(true)
	if worth <= JoinTol || len(steps) == 0 {
		return nil, false
	}
	last := len(l.raw) - 1
	steps = slices.DeleteFunc(steps, func(i int) bool {
		return t.pieces[i].stroke == 0 || t.pieces[i].stroke == last
	})
	return t.assemble(steps), true
}

// ring is the worthiest way round a closed parallel: it is opened in the
// middle of its longest sound piece.
func (t *trim) ring() Path {
	seed := 0
	for i := range t.pieces {
		if t.pieces[i].worth > t.pieces[seed].worth {
			seed = i
		}
	}
	if len(t.pieces) == 0 || t.pieces[seed].worth <= JoinTol {
		return nil
	}
	// Turn the ring so that it starts with the second half of that stroke.
	p := t.pieces[seed]
	head, tail := t.raw[p.stroke].Split(p.mid())
	raw := append([]stroke{{tail, false}}, t.raw[p.stroke+1:]...)
	raw = append(append(raw, t.raw[:p.stroke]...), stroke{head, false})
	r := trim{parallel: &parallel{src: t.src, d: t.d, tol: t.tol, closed: true, raw: raw}}
	r.meetings()
	r.cut()
	steps, worth := r.way(false)
	if worth <= JoinTol {
		return nil
	}
	out := r.assemble(steps)
	if len(out) > 1 {
		x := stroke{Segment: out[len(out)-1]}
		x.endAt(out.Start())
		out[len(out)-1] = x.Segment
	}
	return out
}
