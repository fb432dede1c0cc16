package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/pattern"
)

// A ring holds the panels that go round the arm, in order from the line that runs down
// from the underarm point, as seen from outside to the right, which is to the front. The
// first panel may lie on both sides of that line.
type ring struct {
	panels     []*panel
	raised     map[*panel]float64 // by how much a panel lies lower on paper than the first, mm
	before     float64            // share of the first panel's width that lies before that line
	top, under float64            // y of the top of the cap and of the underarm point, as of the first panel
	bottom     float64            // y of the higher end of the hem
}

// newRing returns the ring of sleeve panels that seams join from right edge to left edge,
// beginning with one of them; nil if it does not close.
func newRing(first *panel, sleeves map[string]*panel, seams []pattern.Seam) *ring {
	r := &ring{raised: map[*panel]float64{}}
	for q, low := first, 0.0; ; {
		r.panels = append(r.panels, q)
		r.raised[q] = low
		next, lower := q.rightOf(sleeves, seams)
		if next == nil || len(r.panels) > len(sleeves) {
			return nil
		}
		if next == first {
			break
		}
		q, low = next, low+lower
	}
	r.begin()
	r.top, r.under, r.bottom = math.Inf(1), math.Inf(-1), math.Inf(1)
	for _, q := range r.panels {
		top, under := q.capRange()
		r.top, r.under = min(r.top, top-r.raised[q]), max(r.under, under-r.raised[q])
		r.bottom = min(r.bottom, q.bottom()-r.raised[q])
	}
	return r
}

// rightOf returns the panel that is sewn to the right edge of q, and by how much it lies lower
// on paper.
func (q *panel) rightOf(sleeves map[string]*panel, seams []pattern.Seam) (next *panel, lower float64) {
	f := newFall(q)
	for _, s := range seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			if way[0].Piece != q.Name || !f.right.has(way[0].Edge) {
				continue
			}
			next := sleeves[way[1].Piece]
			if next == nil || !newFall(next).left.has(way[1].Edge) {
				continue
			}
			a, _ := q.Edge(way[0].Edge)
			b, _ := next.Edge(way[1].Edge)
			return next, (b.Path.Start().Y+b.Path.End().Y)/2 - (a.Path.Start().Y+a.Path.End().Y)/2
		}
	}
	return nil, 0
}

// begin makes the panel with the underarm point the first.
func (r *ring) begin() {
	k, low := 0, math.Inf(-1)
	for i, q := range r.panels {
		if _, under := q.capRange(); under-r.raised[q] > low {
			k, low = i, under-r.raised[q]
		}
	}
	first := r.panels[k]
	r.panels = append(append([]*panel{}, r.panels[k:]...), r.panels[:k]...)
	zero := r.raised[first]
	for q := range r.raised {
		r.raised[q] -= zero
	}
	middle := math.Inf(1)
	_, under := first.capRange()
	const level = 3.0 // mm: the two ends of a cap of one piece may differ by as much
	for _, e := range first.Edges {
		for _, p := range []r2.Vec{{X: e.Path.Start().X, Y: e.Path.Start().Y}, {X: e.Path.End().X, Y: e.Path.End().Y}} {
			if e.Role == pattern.RoleCap && p.Y > under-level {
				middle = min(middle, p.X)
			}
		}
	}
	left, right := first.span(under + 1)
	r.before = max(0, min(1, (middle-left)/max(1, right-left)))
}

// down returns how far down a point of the panel lies, as y of the ring's first panel.
func (r *ring) down(q *panel, at r2.Vec) float64 { return at.Y - r.raised[q] }

// at returns how far round the arm a point of a panel lies from the underarm line, to the
// front, and the length of the whole round, at its height. The line bends with the sleeve: it
// keeps its share of the first panel's width.
func (r *ring) at(q *panel, at r2.Vec) (round, whole float64) {
	y := max(r.under+1, min(r.bottom-1, r.down(q, at)))
	passed := 0.0
	for i, p := range r.panels {
		low, high := p.span(y + r.raised[p])
		x := max(low, min(high, at.X))
		if i == 0 { // what of the first panel lies before the line ends the round
			passed = -r.before * (high - low)
		}
		if p == q {
			round = passed + x - low
		}
		passed += high - low
		whole += high - low
	}
	if round < 0 {
		round += whole
	}
	return round, whole
}
