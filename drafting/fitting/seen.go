package fitting

import (
	"context"
	"math"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/geom"
)

// grain is the distance of the spots at which hidden facets are looked for, mm of
// the picture.
const grain = 0.2

// seen returns the facets, drawn in that order, of which something is seen when all
// are drawn. The error is that of ctx.
func seen(ctx context.Context, facets []drawing.Facet) ([]drawing.Facet, error) {
	box := geom.EmptyBox()
	for _, f := range facets {
		for _, at := range f.At {
			box = box.With(at)
		}
	}
	if len(facets) == 0 {
		return nil, nil
	}
	columns, rows := int(box.Width()/grain)+2, int(box.Height()/grain)+2
	covered := make([]bool, columns*rows)
	var kept []drawing.Facet
	for i, f := range slices.Backward(facets) {
		if i%256 == 0 && cost.Ended(ctx) {
			return nil, ctx.Err()
		}
		if cover(covered, columns, rows, f, box.Min) {
			kept = append(kept, f)
		}
	}
	slices.Reverse(kept)
	return kept, nil
}

// cover marks the spots in a facet as covered, and reports whether one in it or
// beside it was not.
func cover(covered []bool, columns, rows int, f drawing.Facet, origin geom.Point) (shows bool) {
	a, b, c := f.At[0].Sub(origin).Mul(1/grain), f.At[1].Sub(origin).Mul(1/grain), f.At[2].Sub(origin).Mul(1/grain)
	area := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
	if area < 0 {
		b, c = c, b
	}
	// By how far a spot lies inside the side from p to q.
	inside := func(p, q geom.Point, x, y float64) float64 {
		d := q.Sub(p)
		return (d.X*(y-p.Y) - d.Y*(x-p.X)) / max(1e-9, math.Hypot(d.X, d.Y))
	}
	x0, x1 := max(0, int(min(a.X, b.X, c.X))-1), min(columns-1, int(max(a.X, b.X, c.X))+1)
	y0, y1 := max(0, int(min(a.Y, b.Y, c.Y))-1), min(rows-1, int(max(a.Y, b.Y, c.Y))+1)
	for j := y0; j <= y1; j++ {
		for i := x0; i <= x1; i++ {
			x, y := float64(i), float64(j)
			in := min(inside(a, b, x, y), inside(b, c, x, y), inside(c, a, x, y))
			if in < -1 {
				continue
			}
			shows = shows || !covered[j*columns+i]
			if in >= 0 {
				covered[j*columns+i] = true
			}
		}
	}
	return shows
}
