package sheets

import (
	"context"
	"fmt"
	"math"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// plan is where everything lies, before anything is lettered.
type plan struct {
	format
	places []placement
	tiles  []tile
	legend geom.Box // in the axes of the first page
	cover  bool     // the legend has a page of its own
}

func (p plan) pages() int {
	if p.cover {
		return len(p.tiles) + 1
	}
	return len(p.tiles)
}

// spread is how many tiles the sheet would have without gaps.
func (p plan) spread() int {
	cols, rows := 0, 0
	for _, t := range p.tiles {
		cols, rows = max(cols, t.col+1), max(rows, t.row+1)
	}
	return cols * rows
}

// beats compares plans: fewer pages, then the smaller sheet to tape.
func (p plan) beats(q plan) bool {
	if p.pages() != q.pages() {
		return p.pages() < q.pages()
	}
	return p.spread() < q.spread()
}

// newPlan lays out outlines in sheets of the pattern's own length, or on cut
// paper upright or level.
func newPlan(ctx context.Context, p finish.Pattern, o Options, legend legendSizes) (plan, error) {
	outlines := make([][]geom.Point, len(p.Pieces))
	for i, piece := range p.Pieces {
		outlines[i] = piece.CutLine.Flatten(geom.PackTol)
		if len(outlines[i]) < 3 {
			return plan{}, fmt.Errorf("piece %s has no cut line", piece.Name)
		}
	}
	if len(outlines) == 0 {
		return plan{}, fmt.Errorf("a pattern without pieces cannot be laid out")
	}
	if !o.Paper.cut() {
		if o.Paper.Width > 0 {
			if err := fitsRoll(p, o); err != nil {
				return plan{}, err
			}
		}
		return planEndless(ctx, outlines, o, legend)
	}
	return planCut(ctx, outlines, o, legend)
}

// fitsRoll refuses a piece that is wider than the roll prints.
func fitsRoll(p finish.Pattern, o Options) error {
	var faults fault.List
	for i, piece := range p.Pieces {
		need := piece.Bounds().Width() + 2*lineClear + 2*o.Margin
		if need > o.Paper.Width {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: "/paper", Value: fault.Shorten(o.Paper.Name),
				Accepted: fmt.Sprintf("piece %d of %d, %s, needs a roll at least %.0f mm wide", i+1, len(p.Pieces), piece.Name, math.Ceil(need))})
		}
	}
	return faults.Err()
}

// planCut lays the outlines on cut paper, upright or level. Where it may choose
// it looks at both for a while, then spends the rest of the search on the one
// that came out better.
func planCut(ctx context.Context, outlines [][]geom.Point, o Options, legend legendSizes) (plan, error) {
	var ways []*way
	if o.Orientation != Landscape {
		ways = append(ways, newWay(outlines, newFormat(o.Paper.Width, o.Paper.Height, o.Margin, o.Overlap), legend))
	}
	if o.Orientation != Portrait {
		ways = append(ways, newWay(outlines, newFormat(o.Paper.Height, o.Paper.Width, o.Margin, o.Overlap), legend))
	}
	best := ways[0]
	for _, w := range ways {
		if o.Placing == Nested {
			w.search(ctx, searchBudget/4)
		}
		if w.best.beats(best.best) {
			best = w
		}
	}
	if o.Placing == Nested {
		best.search(ctx, searchBudget/2)
	}
	if err := ctx.Err(); err != nil {
		return plan{}, err
	}
	// The search counts a line near a page's edge as over it, and knows nothing
	// of strips that two pages share.
	if p := best.settle(outlines, best.best.places, legend); p.beats(best.best) {
		return p, nil
	}
	return best.best, nil
}

// way is the search for a plan with the paper held one way.
type way struct {
	format
	outlines [][]geom.Point
	legend   legendSizes
	least    int // no plan has fewer pages: the pieces' area over a tile's
	nest     *nest
	best     plan
}

func newWay(outlines [][]geom.Point, f format, legend legendSizes) *way {
	return &way{
		format: f, outlines: outlines, legend: legend,
		least: int(math.Ceil(area(outlines) / (f.step.X * f.step.Y))),
		best:  f.settle(outlines, inRow(outlines, Gap, math.Inf(1)), legend),
	}
}

func (w *way) search(ctx context.Context, budget int) {
	if w.best.pages() <= w.least {
		return
	}
	if w.nest == nil {
		w.nest = newNest(w.outlines, w.step, Gap)
	}
	n := w.nest
	n.run(ctx, budget, func(tiles int) (enough bool) {
		if tiles > w.best.pages() || tiles == w.best.pages() && n.cols*n.rows >= w.best.spread() {
			return false // not even with the legend for nothing
		}
		places := make([]placement, len(w.outlines))
		for i := range places {
			places[i] = n.placement(i)
		}
		p := plan{format: w.format, places: places, tiles: n.tiles()}
		p.setLegend(p.laid(w.outlines), w.legend)
		if p.beats(w.best) {
			w.best = p
		}
		return w.best.pages() <= w.least
	})
}

// laid is the outlines where the plan puts them.
func (p plan) laid(outlines [][]geom.Point) [][]geom.Point {
	laid := make([][]geom.Point, len(outlines))
	for i, o := range outlines {
		laid[i] = p.places[i].outline(o)
	}
	return laid
}

// settle finds the pages for a placing, and room for the legend on the first.
func (f format) settle(outlines [][]geom.Point, places []placement, legend legendSizes) plan {
	p := plan{format: f, places: places}
	laid := p.laid(outlines)
	p.tiles = f.tilesOf(laid)
	p.setLegend(laid, legend)
	return p
}

// setLegend finds room for the legend on the first page, else gives it a page
// of its own.
func (p *plan) setLegend(laid [][]geom.Point, sizes legendSizes) {
	box, ok := freeBox(p.windowOf(p.tiles[0]), laid, sizes.of(len(p.tiles)))
	if !ok {
		box = geom.Box{Max: p.window}
	}
	p.legend, p.cover = box, !ok
}

// freeBox finds room in a window for a box of the first of the sizes that
// there is room for, clear of the outlines.
func freeBox(window geom.Box, outlines [][]geom.Point, sizes []geom.Point) (geom.Box, bool) {
	unit := max(4, window.Width()/grid.WordBits, window.Height()/grid.WordBits)
	r := grid.New(window.Min, geom.Pt(unit, unit), int(window.Width()/unit), int(window.Height()/unit))
	for _, o := range outlines {
		r.Fill(o, Gap)
	}
	for _, size := range sizes {
		if x, y, ok := r.FirstRoom(int(math.Ceil(size.X/unit)), int(math.Ceil(size.Y/unit))); ok {
			at := window.Min.Add(geom.Pt(float64(x), float64(y)).Mul(unit))
			return geom.Box{Min: at, Max: at.Add(size)}, true
		}
	}
	return geom.Box{}, false
}
