package sheets

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// pictureSides is the width over the height of a common screen's picture.
const pictureSides = 4.0 / 3

// stripUnit is the cell of the search on one sheet, mm.
const stripUnit = 8.0

// planSheet places the outlines on one sheet of their own size, at the width that
// makes the smallest sheet. The legend is one more piece.
func planSheet(ctx context.Context, outlines [][]geom.Point, o Options, legend legendSizes) (plan, error) {
	all := withLegend(outlines, legend)
	var places []placement
	var whole geom.Point
	least := math.Inf(1)
	for _, width := range sheetWidths(all, MaxSide-2*o.Margin) {
		if err := cost.Step(ctx); err != nil {
			return plan{}, err
		}
		p := inRow(all, Gap, width)
		if o.Placing != InRow {
			if s := newStrip(all, width).run(); s != nil && extent(all, s).Y <= extent(all, p).Y {
				p = s
			}
		}
		end := extent(all, p)
		size := end.X * end.Y
		if o.Placing == InRow { // for a picture: the scale that a screen shows it at counts
			size = max(end.X, end.Y*pictureSides)
		}
		if size < least {
			places, whole, least = p, end, size
		}
	}
	return endless(ctx, all, places, whole, o)
}

// withLegend returns the outlines and, as the last one, that of the legend.
func withLegend(outlines [][]geom.Point, legend legendSizes) [][]geom.Point {
	box := legend.single
	return append(slices.Clone(outlines), []geom.Point{{}, geom.Pt(box.X, 0), box, geom.Pt(0, box.Y)})
}

// endless returns the plan for outlines, the last of them the legend, placed on a
// sheet of a size. A sheet longer than a PDF page (MaxSide) becomes several pages
// and a cover. The error is that of ctx.
func endless(
	ctx context.Context, all [][]geom.Point, places []placement, size geom.Point, o Options,
) (p plan, err error) {
	pieces := len(all) - 1
	longest := MaxSide - 2*o.Margin
	window := geom.Pt(min(size.X, longest), min(size.Y, longest))
	p = plan{
		format: newFormat(window.X+2*o.Margin, window.Y+2*o.Margin, o.Margin, 0),
		places: places[:pieces],
	}
	if size.X > longest {
		p.step.X -= o.Overlap
	}
	if size.Y > longest {
		p.step.Y -= o.Overlap
	}
	placed := placeAll(all, places)
	if p.tiles, err = p.tilesOf(ctx, placed); err != nil {
		return p, err
	}
	p.legend = geom.BoxOf(placed[pieces]...)
	if len(p.tiles) > 1 {
		p.tiles, err = p.tilesOf(ctx, placed[:pieces])
		p.cover, p.legend = true, geom.Box{Max: p.window}
	}
	return p, err
}

// sheetWidths returns the widths to try for a sheet: those at which one, two,
// three and more pieces lie side by side, the wide ones first.
func sheetWidths(outlines [][]geom.Point, maxWidth float64) []float64 {
	sides := make([]float64, len(outlines))
	for i, o := range outlines {
		sides[i] = geom.BoxOf(o...).Width() + Gap
	}
	slices.SortFunc(sides, func(a, b float64) int { return cmp.Compare(b, a) })
	var widths []float64
	sum := 2 * lineClear
	for _, s := range sides {
		if sum+s > maxWidth && widths != nil {
			break
		}
		sum += s
		widths = append(widths, sum)
	}
	return widths
}

// extent returns the bottom right corner of everything placed, with the clearance
// of lines.
func extent(outlines [][]geom.Point, places []placement) geom.Point {
	var end geom.Point
	for i, o := range outlines {
		b := geom.BoxOf(places[i].outline(o)...)
		end = geom.Pt(max(end.X, b.Max.X+lineClear), max(end.Y, b.Max.Y+lineClear))
	}
	return end
}

// strip places pieces on a strip of a width, each as near to the start and then as
// far left as possible, in several orders. It works on cells: coarser than
// package nesting, but some thirty times as fast.
type strip struct {
	outlines [][]geom.Point
	shapes   [][2]shape
	board    *grid.Grid
}

// newStrip returns the strip for outlines, the last of them the legend.
func newStrip(outlines [][]geom.Point, width float64) *strip {
	s := &strip{outlines: outlines}
	cols := max(int(width/stripUnit), 1)
	unit := geom.Pt(width/float64(cols), stripUnit)
	rows := 0
	for i, o := range outlines {
		t := turned(o)
		if i == len(outlines)-1 {
			t = o // the legend stays upright
		}
		sh := [2]shape{newShape(o, unit, Gap), newShape(t, unit, Gap)}
		s.shapes = append(s.shapes, sh)
		rows += sh[0].clear.H
	}
	s.board = grid.New(geom.Point{}, unit, cols, rows)
	return s
}

// run returns the shortest placing found, or nil if a piece is too wide.
func (s *strip) run() []placement {
	n := len(s.outlines)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	size := func(i int) (w, h int) { return s.shapes[i][0].body.W, s.shapes[i][0].body.H }
	byHeight := func(i int) int { _, h := size(i); return h }
	byWidth := func(i int) int { w, _ := size(i); return w }
	byArea := func(i int) int { w, h := size(i); return w * h }
	var best []placement
	least := math.MaxInt
	for _, key := range []func(i int) int{byHeight, byWidth, byArea} {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(key(b), key(a)) })
		places, length := s.pass(order)
		if places != nil && length < least {
			best, least = places, length
		}
	}
	return best
}

// pass places the pieces in an order and returns the length used, in cells.
func (s *strip) pass(order []int) ([]placement, int) {
	s.board.Clear()
	places := make([]placement, len(order))
	length := 0
	for _, i := range order {
		at, ok := s.lowest(i)
		if !ok {
			return nil, 0
		}
		sh := &s.shapes[i][at.turn]
		s.board.Add(sh.clear, at.x-sh.halo, at.y-sh.halo)
		length = max(length, at.y+sh.body.H)
		corner := geom.Pt(float64(at.x)*s.board.Cell.X, float64(at.y)*s.board.Cell.Y)
		places[i] = placement{at.turn == 1 && i < len(order)-1, corner.Sub(sh.corner)}
	}
	return places, length
}

// lowest returns the spot at which a piece, either way up, ends nearest to the
// start.
func (s *strip) lowest(piece int) (spot, bool) {
	best, found := spot{}, false
	end := math.MaxInt
	for turn := range 2 {
		body := s.shapes[piece][turn].body
		for y := 0; y+body.H <= min(s.board.H, end-1); y++ {
			for x := 0; x+body.W <= s.board.W; x++ {
				if !s.board.Collides(body, x, y) {
					best, found, end = spot{x, y, turn}, true, y+body.H
					break
				}
			}
		}
	}
	return best, found
}
