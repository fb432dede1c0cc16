package geom

import (
	"cmp"
	"math"
	"slices"
)

// trimmed returns the parallel without its waste.
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
	// An end was lost: extend the path straight past both ends, so that a short
	// side reaches the other side of its corner.
	if longer, ok := o.extended(); ok {
		return longer
	}
	return run
}

// path returns the untrimmed parallel.
func (o *parallel) path() Path {
	p := make(Path, len(o.raw))
	for i, s := range o.raw {
		p[i] = s.Segment
	}
	return p
}

// trim finds the way along the untrimmed parallel that avoids its waste. It cuts
// the strokes where they cross; from a crossing the way may jump ahead to the
// other stroke. The best way keeps the greatest sound length.
type trim struct {
	*parallel
	jumps []jump
	parts []part
}

// jump leads ahead from one position on the untrimmed parallel to another.
type jump struct {
	from, to position
	a, b     int // the parts that start there
}

// position is a parameter on a stroke.
type position struct {
	stroke int
	t      float64
}

// compare orders positions along the parallel.
func (p position) compare(q position) int {
	return cmp.Or(cmp.Compare(p.stroke, q.stroke), cmp.Compare(p.t, q.t))
}

// part is a stretch of one stroke between crossings.
type part struct {
	stroke int
	span
	worth float64 // mm of sound length; far below zero for waste
}

// meetings finds where sound strokes cross.
func (t *trim) meetings() {
	n := len(t.raw)
	for i := range t.raw {
		if t.raw[i].waste {
			continue
		}
		for j := i + 1; j < n; j++ {
			if t.raw[j].waste || j == i+1 && continues(&t.raw[i].Segment, &t.raw[j].Segment) {
				continue
			}
			var ms meets
			meetSegments(&t.raw[i].Segment, &t.raw[j].Segment, &ms)
			for _, m := range ms.m[:ms.n] {
				if j == i+1 && m.at.Near(t.raw[i].P3, mergeTol) ||
					t.closed && i == 0 && j == n-1 && m.at.Near(t.raw[0].P0, mergeTol) {
					continue // a join
				}
				t.jumps = append(t.jumps, jump{from: position{i, m.a}, to: position{j, m.b}})
			}
		}
	}
}

// cut makes the parts and links each jump to those where it starts and ends.
func (t *trim) cut() {
	positions := make([]position, 0, len(t.raw)+2*len(t.jumps))
	for i := range t.raw {
		positions = append(positions, position{i, 0})
	}
	for _, j := range t.jumps {
		positions = append(positions, j.from, j.to)
	}
	slices.SortFunc(positions, position.compare)
	positions = slices.Compact(positions)
	t.parts = make([]part, len(positions))
	for i, p := range positions {
		end := 1.0
		if i+1 < len(positions) && positions[i+1].stroke == p.stroke {
			end = positions[i+1].t
		}
		t.parts[i] = part{stroke: p.stroke, span: span{p.t, end}}
		t.parts[i].worth = t.worth(&t.parts[i])
	}
	for i := range t.jumps {
		j := &t.jumps[i]
		j.a, _ = slices.BinarySearchFunc(positions, j.from, position.compare)
		j.b, _ = slices.BinarySearchFunc(positions, j.to, position.compare)
	}
}

// worth returns the length of a part. If the part is waste, or its middle comes
// too near to the path, it returns a penalty; if only an end comes too near,
// which another way may avoid, it returns next to nothing.
func (t *trim) worth(p *part) float64 {
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

// way returns the parts of the best way from the first part to the end of the
// last one, and its worth. If loose, it may start at any part and stop after any.
func (t *trim) way(loose bool) (steps []int, worth float64) {
	n := len(t.parts)
	into := make([][]int, n) // the jumps that end at a part
	for k, j := range t.jumps {
		into[j.b] = append(into[j.b], k)
	}
	// best[i] is the worth of the best way to the start of part i, and from[i] is
	// the part before on that way: i-1, or the part where a jump starts.
	best, from := make([]float64, n+1), make([]int, n+1)
	for i := range best {
		best[i], from[i] = math.Inf(-1), -1
		if i == 0 || loose {
			best[i] = 0
		}
		if i > 0 {
			if w := best[i-1] + t.parts[i-1].worth; w > best[i] {
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
		if from[i] == i-1 && best[i] == best[i-1]+t.parts[i-1].worth {
			steps = append(steps, i-1)
		}
	}
	slices.Reverse(steps)
	return steps, best[end]
}

// assemble returns the path along the parts, with neighbours on one stroke joined.
func (t *trim) assemble(steps []int) Path {
	var p Path
	for i := 0; i < len(steps); {
		a := t.parts[steps[i]]
		i++
		for i < len(steps) && t.parts[steps[i]].stroke == a.stroke && t.parts[steps[i]].lo == a.hi {
			a.hi = t.parts[steps[i]].hi
			i++
		}
		s := t.raw[a.stroke].Part(a.lo, a.hi)
		if s.P0.Dist(s.P3) <= JoinTol && s.Length() <= JoinTol {
			continue
		}
		if len(p) > 0 { // crossings are exact within JoinTol: close the gap
			x := stroke{Segment: s}
			x.startAt(p.End())
			s = x.Segment
		}
		p = append(p, s)
	}
	return p
}

// best returns the best way along an open parallel, and whether it keeps both
// ends.
func (t *trim) best() (Path, bool) {
	steps, worth := t.way(true)
	if worth <= JoinTol || len(steps) == 0 {
		return nil, false
	}
	whole := steps[0] == 0 && steps[len(steps)-1] == len(t.parts)-1
	return t.assemble(steps), whole
}

// extended trims the parallel of the path extended at both ends, and then removes
// the extensions.
func (o *parallel) extended() (Path, bool) {
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
		return t.parts[i].stroke == 0 || t.parts[i].stroke == last
	})
	return t.assemble(steps), true
}

// ring returns the best way around a closed parallel, which it opens in the middle
// of the longest sound part.
func (t *trim) ring() Path {
	seed := 0
	for i := range t.parts {
		if t.parts[i].worth > t.parts[seed].worth {
			seed = i
		}
	}
	if len(t.parts) == 0 || t.parts[seed].worth <= JoinTol {
		return nil
	}
	// Rotate the ring so that it starts with the second half of that stroke.
	p := t.parts[seed]
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
