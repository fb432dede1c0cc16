package nesting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// Simplified is the polygon with fewer corners, for placing it. In hollows its
// sides may stray outwards, where that takes away room that hardly anything
// could use; elsewhere they may cut inwards. Each stays within so much of the
// corners that it passes by. Fewer hollow corners make fewer convex parts.
func (p Polygon) Simplified(out, in float64) Polygon {
	q := p.clean()
	type corner struct {
		at     geom.Point
		passed []geom.Point // corners dropped on the way to the next
	}
	ring := make([]corner, len(q))
	for i, c := range q {
		ring[i] = corner{at: c}
	}
	// cost is how far the side past corner i would stray, as a share of what it
	// may; over 1 where it may not.
	cost := func(i int) float64 {
		n := len(ring)
		before, c, after := ring[(i+n-1)%n], ring[i], ring[(i+1)%n]
		side := geom.Line(before.at, after.at)
		worst := 0.0
		for _, d := range slices.Concat(before.passed, []geom.Point{c.at}, c.passed) {
			off := d.Sub(side.P0)
			u := side.P3.Sub(side.P0)
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
		return worst
	}
	for len(ring) > 4 {
		best, least := -1, 1.0
		for i := range ring {
			if c := cost(i); c < least {
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
