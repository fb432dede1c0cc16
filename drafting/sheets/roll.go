package sheets

import (
	"context"
	"errors"
	"math"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
)

// rollTries is the budget of the search on a roll: 50 to 100 ms of work for a
// dress, preparation included.
const rollTries = 100_000

// How far the packed outline may stray from the flattened cut line, mm: outwards
// in hollows, and inwards.
const (
	rollStrayOut = 1.0
	rollStrayIn  = 0.1
)

// planRoll places the outlines on a roll, side by side or as short as the search
// finds. The legend is one more piece.
func planRoll(ctx context.Context, outlines [][]geom.Point, o Options, legend legendSizes) (plan, error) {
	all := withLegend(outlines, legend)
	width := min(o.Paper.Width, MaxSide) - 2*o.Margin
	places := inRow(all, Gap, width)
	if o.Placing != InRow {
		packed, err := packRoll(ctx, all, width)
		if err != nil && !errors.Is(err, nesting.ErrTooWide) { // the legend may be wider than the roll
			return plan{}, err
		}
		if err == nil && extent(all, packed).Y < extent(all, places).Y {
			places = packed
		}
	}
	return endless(ctx, all, places, geom.Pt(width, extent(all, places).Y), o)
}

// packRoll packs the outlines on a roll of a width. The last of them, the legend,
// stays upright; the others may turn by half, which keeps the grain along the
// roll.
func packRoll(ctx context.Context, outlines [][]geom.Point, width float64) ([]placement, error) {
	items := make([]nesting.Item, len(outlines))
	for i, o := range outlines {
		if err := cost.Step(ctx); err != nil {
			return nil, err
		}
		outline := swapAxes(o).Simplify(rollStrayOut, rollStrayIn)
		items[i] = nesting.Item{Outline: outline, Turns: []float64{0, math.Pi}}
	}
	legend := &items[len(items)-1]
	legend.Turns = legend.Turns[:1]
	// The flattened line lies up to PackTol inside the true one.
	on := nesting.Strip{Width: width - 2*lineClear, Gap: Gap + 2*(geom.PackTol+rollStrayIn)}
	p, err := nesting.Pack(ctx, items, on, nesting.Budget{Tries: rollTries, Seed: 1})
	if err != nil {
		return nil, err
	}
	places := make([]placement, len(items))
	for i, at := range p.Placements {
		places[i] = placement{at.Turn != 0, geom.Pt(at.At.Y+lineClear, at.At.X+lineClear)}
	}
	return places, nil
}

// swapAxes returns an outline with x and y swapped: a strip of package nesting
// runs along x, a roll along y.
func swapAxes(outline []geom.Point) nesting.Polygon {
	p := make(nesting.Polygon, len(outline))
	for i, q := range outline {
		p[i] = geom.Pt(q.Y, q.X)
	}
	return p
}
