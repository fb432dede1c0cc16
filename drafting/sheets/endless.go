package sheets

import (
	"context"
	"errors"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
	"tapeline/drafting/nesting"
)

// pictureSides is the width over the height of a common screen's picture.
const pictureSides = 4.0 / 3

// stripUnit is the cell of the search on a roll, mm.
const stripUnit = 8.0

// planEndless lays the outlines on a roll, or on one sheet of their own size.
// The legend is laid as one more piece. Longer than a PDF page may be
// (MaxSide), the sheet becomes several pages and a cover.
func planEndless(ctx context.Context, outlines [][]geom.Point, o Options, legend legendSizes) (plan, error) {
	box := legend.single
	all := append(slices.Clone(outlines), []geom.Point{{}, geom.Pt(box.X, 0), box, geom.Pt(0, box.Y)})
	longest := MaxSide - 2*o.Margin
	widths := []float64{min(o.Paper.Width-2*o.Margin, longest)}
	if o.Paper.Width == 0 {
		widths = sheetWidths(all, longest)
	}
	var places []placement
	var size geom.Point
	least := math.Inf(1)
	for _, width := range widths {
		q := inRow(all, Gap, width)
		if o.Placing != InRow {
			if s := newStrip(all, width).run(); s != nil && extent(all, s).Y <= extent(all, q).Y {
				q = s
			}
		}
		if o.Placing != InRow && o.Paper.Width > 0 {
			p, err := packRoll(ctx, all, width)
			if err != nil && !errors.Is(err, nesting.ErrTooWide) {
				return plan{}, err
			}
			if err == nil && extent(all, p).Y < extent(all, q).Y {
				q = p
			}
		}
		if err := ctx.Err(); err != nil {
			return plan{}, err
		}
		end := extent(all, q)
		if o.Paper.Width > 0 {
			end.X = width
		}
		cost := end.X * end.Y
		if o.Placing == InRow { // to be looked at: as large as a picture of it can be
			cost = max(end.X, end.Y*pictureSides)
		}
		if cost < least {
			places, size, least = q, end, cost
		}
	}
	window := geom.Pt(min(size.X, longest), min(size.Y, longest))
	p := plan{
		format: newFormat(window.X+2*o.Margin, window.Y+2*o.Margin, o.Margin, 0),
		places: places[:len(outlines)],
	}
	if size.X > longest {
		p.step.X -= o.Overlap
	}
	if size.Y > longest {
		p.step.Y -= o.Overlap
	}
	laid := make([][]geom.Point, len(all))
	for i := range all {
		laid[i] = places[i].outline(all[i])
	}
	p.tiles = p.tilesOf(laid)
	p.legend = geom.BoxOf(laid[len(outlines)]...)
	if len(p.tiles) > 1 {
		p.tiles = p.tilesOf(laid[:len(outlines)])
		p.cover, p.legend = true, geom.Box{Max: p.window}
	}
	return p, nil
}

// sheetWidths are the widths that a sheet of its own size is tried at: those
// at which one, two, three … pieces lie side by side, the wide ones first.
func sheetWidths(outlines [][]geom.Point, most float64) []float64 {
	sides := make([]float64, len(outlines))
	for i, o := range outlines {
		sides[i] = geom.BoxOf(o...).Width() + Gap
	}
	slices.SortFunc(sides, func(a, b float64) int { return int(math.Copysign(1, b-a)) })
	var widths []float64
	sum := 2 * lineClear
	for _, s := range sides {
		if sum+s > most && widths != nil {
			break
		}
		sum += s
		widths = append(widths, sum)
	}
	return widths
}

// extent is the bottom right corner of everything laid, with the clearance of lines.
func extent(outlines [][]geom.Point, places []placement) geom.Point {
	var end geom.Point
	for i, o := range outlines {
		b := geom.BoxOf(places[i].outline(o)...)
		end = geom.Pt(max(end.X, b.Max.X+lineClear), max(end.Y, b.Max.Y+lineClear))
	}
	return end
}

// strip lays pieces on a strip of a width, each as near to its start as it
// goes and then as far left, in several orders.
type strip struct {
	outlines [][]geom.Point
	shapes   [][2]shape
	board    *grid.Grid
}

func newStrip(outlines [][]geom.Point, width float64) *strip {
	s := &strip{outlines: outlines}
	cols := max(int(width/stripUnit), 1)
	unit := geom.Pt(width/float64(cols), stripUnit)
	rows := 0
	for i, o := range outlines {
		t := turned(o)
		if i == len(outlines)-1 {
			t = o // the legend is read upright
		}
		sh := [2]shape{newShape(o, unit, Gap), newShape(t, unit, Gap)}
		s.shapes = append(s.shapes, sh)
		rows += sh[0].clear.H
	}
	s.board = grid.New(geom.Point{}, unit, cols, rows)
	return s
}

// run is the shortest placing found, nil if a piece is too wide.
func (s *strip) run() []placement {
	n := len(s.outlines)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	byDepth := func(a, b int) int { return s.shapes[b][0].body.H - s.shapes[a][0].body.H }
	byWidth := func(a, b int) int { return s.shapes[b][0].body.W - s.shapes[a][0].body.W }
	byArea := func(a, b int) int {
		return s.shapes[b][0].body.W*s.shapes[b][0].body.H - s.shapes[a][0].body.W*s.shapes[a][0].body.H
	}
	var best []placement
	least := math.MaxInt
	for _, less := range []func(a, b int) int{byDepth, byWidth, byArea} {
		slices.SortStableFunc(order, less)
		places, length := s.pass(order)
		if places != nil && length < least {
			best, least = places, length
		}
	}
	return best
}

// pass lays the pieces in an order and returns the length used, in cells.
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

// lowest is the spot at which a piece, either way up, ends soonest.
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
