package sheets

import (
	"context"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
)

// rollTries is the budget of the search on a roll: with making ready for it some
// 50 to 100 ms of work for a dress.
const rollTries = 100_000

// How far the outline that is laid may stray from the flattened cut line, mm:
// outwards in hollows, and inwards.
const (
	rollStrayOut = 2.5
	rollStrayIn  = 0.1
)

// packRoll lays the outlines on a roll of a width, to be as short as the search
// finds it; never longer than laid bottom-left. The last of them, the legend, is
// read upright, the others may be turned by half, which leaves the grain along
// the roll. ok is false where one is too wide.
func packRoll(ctx context.Context, outlines [][]geom.Point, width float64) (places []placement, err error) {
	items := make([]nesting.Item, len(outlines))
	for i, o := range outlines {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		items[i] = nesting.Item{Outline: alongRoll(o).Simplify(rollStrayOut, rollStrayIn), Turns: []float64{0, math.Pi}}
	}
	legend := &items[len(items)-1]
	legend.Turns = legend.Turns[:1]
	// The flattened line lies up to geom.PackTol inside the true one.
	on := nesting.Strip{Width: width - 2*lineClear, Gap: Gap + 2*(geom.PackTol+rollStrayIn)}
	p, err := nesting.Pack(ctx, items, on, nesting.Budget{Tries: rollTries, Seed: 1})
	if err != nil {
		return nil, err
	}
	for _, at := range p.Placements {
		places = append(places, placement{at.Turn != 0, geom.Pt(at.At.Y+lineClear, at.At.X+lineClear)})
	}
	return places, nil
}

// alongRoll is an outline in the axes of package nesting, which runs its strip along
// x where the sheet runs it down.
func alongRoll(outline []geom.Point) nesting.Polygon {
	p := make(nesting.Polygon, len(outline))
	for i, q := range outline {
		p[i] = geom.Pt(q.Y, q.X)
	}
	return p
}
