package nesting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// Simplify returns the polygon with fewer corners, for packing: fewer hollow
// corners make fewer convex parts. Its sides pass the removed corners within out
// mm in hollows, where the sides stray outwards into room that hardly anything
// could use, and within in mm elsewhere, where they cut inwards.
func (p Polygon) Simplify(out, in float64) Polygon {
	q := p.clean()
	ring := make(simplifier, len(q))
	for i, c := range q {
		ring[i] = keptCorner{at: c}
	}
	for len(ring) > 4 {
		best, least := -1, 1.0
		for i := range ring {
			if c := ring.cost(i, out, in); c < least {
				best, least = i, c
			}
		}
		if best < 0 {
			break
		}
		n := len(ring)
		b := &ring[(best+n-1)%n]
		b.passed = slices.Concat(b.passed, []geom.Point{ring[best].at}, ring[best].passed)
		ring = slices.Delete(ring, best, best+1)
	}
	simple := make(Polygon, len(ring))
	for i, c := range ring {
		simple[i] = c.at
	}
	return simple
}

// keptCorner is a corner of an outline being simplified.
type keptCorner struct {
	at     geom.Point
	passed []geom.Point // the corners removed between this one and the next
}

// simplifier is the ring of corners kept so far.
type simplifier []keptCorner

// cost returns how far the side that replaces corner i would stray from the
// corners it passes, as a share of the limits; above 1 the side is not allowed.
func (ring simplifier) cost(i int, out, in float64) float64 {
	n := len(ring)
	before, c, after := &ring[(i+n-1)%n], &ring[i], &ring[(i+1)%n]
	u := after.at.Sub(before.at)
	worst := 0.0
	for _, passed := range [...][]geom.Point{before.passed, {c.at}, c.passed} {
		for _, d := range passed {
			off := d.Sub(before.at)
			along := off.Dot(u) / u.Dot(u)
			if !(along >= 0 && along <= 1) {
				return math.Inf(1)
			}
			// Left of the side as the ring runs is inside: a corner there is in a hollow.
			if across := u.Unit().Cross(off); across > 0 {
				worst = max(worst, across/out)
			} else {
				worst = max(worst, -across/in)
			}
		}
	}
	return worst
}
