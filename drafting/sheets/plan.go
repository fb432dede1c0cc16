package sheets

import (
	"context"
	"errors"
	"fmt"
	"math"

	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// plan holds the placements and pages of a pattern, before lettering.
type plan struct {
	format
	places []placement
	tiles  []tile
	legend geom.Box // in the axes of the first page
	cover  bool     // the legend has its own page
}

// pages returns the number of pages, the cover included.
func (p plan) pages() int {
	if p.cover {
		return len(p.tiles) + 1
	}
	return len(p.tiles)
}

// spread returns the number of tiles of the whole rectangle of the sheet.
func (p plan) spread() int {
	cols, rows := 0, 0
	for _, t := range p.tiles {
		cols, rows = max(cols, t.col+1), max(rows, t.row+1)
	}
	return cols * rows
}

// beats reports whether p is better than q: it has fewer pages, or as many and a
// smaller sheet to tape.
func (p plan) beats(q plan) bool {
	if p.pages() != q.pages() {
		return p.pages() < q.pages()
	}
	return p.spread() < q.spread()
}

// MaxPages is the maximum number of pages: ten times what a garment of many pieces
// takes on the smallest paper.
const MaxPages = 1000

// newPlan places the pieces of a pattern on paper. The error is a fault.List if
// the pattern does not fit, or takes more than MaxPages.
func newPlan(ctx context.Context, p finish.Pattern, o Options, legend legendSizes) (plan, error) {
	q, err := placeOnPaper(ctx, p, o, legend)
	if n := q.pages(); err == nil && n > MaxPages {
		err = fault.List{{Code: fault.Range, Field: "/paper", Value: fault.Shorten(o.Paper.Name),
			Accepted: fmt.Sprintf("the pattern takes %d pages, and a file has at most %d: choose a larger paper", n, MaxPages)}}
	}
	return q, err
}

// placeOnPaper places the pieces of a pattern on paper of any number of pages.
func placeOnPaper(ctx context.Context, p finish.Pattern, o Options, legend legendSizes) (plan, error) {
	outlines, err := outlinesOf(p)
	if err != nil {
		return plan{}, err
	}
	switch {
	case o.Paper.cut():
		return planCut(ctx, outlines, o, legend)
	case o.Paper.Width == 0:
		return planSheet(ctx, outlines, o, legend)
	}
	if err := fitsRoll(p, o); err != nil {
		return plan{}, err
	}
	return planRoll(ctx, outlines, o, legend)
}

// outlinesOf returns the cut lines of a pattern's pieces.
func outlinesOf(p finish.Pattern) ([][]geom.Point, error) {
	outlines := make([][]geom.Point, len(p.Pieces))
	for i, piece := range p.Pieces {
		outlines[i] = piece.CutLine.Flatten(geom.PackTol)
		if len(outlines[i]) < 3 {
			return nil, fmt.Errorf("piece %s has no cut line", piece.Name)
		}
	}
	if len(outlines) == 0 {
		return nil, errors.New("the pattern has no pieces")
	}
	return outlines, nil
}

// fitsRoll returns a fault for every piece that is wider than the roll prints.
func fitsRoll(p finish.Pattern, o Options) error {
	var faults fault.List
	for i, piece := range p.Pieces {
		need := piece.Bounds().Width() + 2*lineClear + 2*o.Margin
		if need > o.Paper.Width {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: "/paper", Value: fault.Shorten(o.Paper.Name),
				Accepted: fmt.Sprintf("piece %d of %d, %s, needs a roll at least %.0f mm wide",
					i+1, len(p.Pieces), piece.Name, math.Ceil(need))})
		}
	}
	return faults.Err()
}

// planCut places the outlines on cut paper, portrait or landscape. If it may
// choose, it searches both for a while, then spends the rest of the budget on the
// better one.
func planCut(ctx context.Context, outlines [][]geom.Point, o Options, legend legendSizes) (plan, error) {
	var formats []format
	if o.Orientation != Landscape {
		formats = append(formats, newFormat(o.Paper.Width, o.Paper.Height, o.Margin, o.Overlap))
	}
	if o.Orientation != Portrait {
		formats = append(formats, newFormat(o.Paper.Height, o.Paper.Width, o.Margin, o.Overlap))
	}
	ways := make([]*way, len(formats))
	for i, f := range formats {
		var err error
		if ways[i], err = newWay(ctx, outlines, f, legend); err != nil {
			return plan{}, err
		}
	}
	best := ways[0]
	for _, w := range ways {
		if o.Placing == Nested {
			if err := w.search(ctx, searchBudget/4); err != nil {
				return plan{}, err
			}
		}
		if w.best.beats(best.best) {
			best = w
		}
	}
	if o.Placing == Nested {
		if err := best.search(ctx, searchBudget/2); err != nil {
			return plan{}, err
		}
	}
	// The search counts a line near a page's edge as beyond it, and does not know
	// the strips that two pages share.
	p, err := best.settle(ctx, outlines, best.best.places, legend)
	if err != nil || p.beats(best.best) {
		return p, err
	}
	return best.best, nil
}

// way is the search for a plan with the paper in one orientation.
type way struct {
	format
	outlines [][]geom.Point
	legend   legendSizes
	minPages int // no plan has fewer: the pieces' area over a tile's
	nest     *nest
	best     plan
}

// newWay starts a search from the pieces in a row.
func newWay(ctx context.Context, outlines [][]geom.Point, f format, legend legendSizes) (*way, error) {
	row, err := f.settle(ctx, outlines, inRow(outlines, Gap, math.Inf(1)), legend)
	return &way{
		format: f, outlines: outlines, legend: legend,
		minPages: int(math.Ceil(area(outlines) / (f.step.X * f.step.Y))),
		best:     row,
	}, err
}

// search improves the best plan. Where a piece has more columns of tiles than the
// board, they stay in a row.
func (w *way) search(ctx context.Context, budget int) (err error) {
	if w.best.pages() <= w.minPages || widest(w.outlines) > (maxColumns-1)*w.step.X {
		return cost.Step(ctx)
	}
	if w.nest == nil {
		if w.nest, err = newNest(ctx, w.outlines, w.step, Gap); err != nil {
			return err
		}
	}
	n := w.nest
	n.run(ctx, budget, func(tiles int) (enough bool) {
		if tiles > w.best.pages() || tiles == w.best.pages() && n.cols*n.rows >= w.best.spread() {
			return false // not even without a cover for the legend
		}
		places := make([]placement, len(w.outlines))
		for i := range places {
			places[i] = n.placement(i)
		}
		p := plan{format: w.format, places: places, tiles: n.tiles()}
		p.setLegend(placeAll(w.outlines, places), w.legend)
		if p.beats(w.best) {
			w.best = p
		}
		return w.best.pages() <= w.minPages
	})
	return cost.Step(ctx)
}

// widest returns the width or height of the largest outline.
func widest(outlines [][]geom.Point) float64 {
	side := 0.0
	for _, o := range outlines {
		b := geom.BoxOf(o...)
		side = max(side, b.Width(), b.Height())
	}
	return side
}

// placeAll returns the outlines where the placements put them.
func placeAll(outlines [][]geom.Point, places []placement) [][]geom.Point {
	placed := make([][]geom.Point, len(outlines))
	for i, o := range outlines {
		placed[i] = places[i].outline(o)
	}
	return placed
}

// settle returns the plan for placements, with the legend on the first page if
// there is room.
func (f format) settle(ctx context.Context, outlines [][]geom.Point, places []placement,
	legend legendSizes) (p plan, err error) {
	p = plan{format: f, places: places}
	placed := placeAll(outlines, places)
	if p.tiles, err = f.tilesOf(ctx, placed); err != nil {
		return p, err
	}
	p.setLegend(placed, legend)
	return p, nil
}

// setLegend puts the legend on the first page if there is room, otherwise on its
// own page.
func (p *plan) setLegend(placed [][]geom.Point, sizes legendSizes) {
	box, ok := freeBox(p.windowOf(p.tiles[0]), placed, sizes.of(len(p.tiles)))
	if !ok {
		box = geom.Box{Max: p.window}
	}
	p.legend, p.cover = box, !ok
}

// freeBox returns a box in a window, clear of the outlines, of the first of the
// sizes that fits.
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
