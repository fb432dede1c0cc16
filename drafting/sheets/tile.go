package sheets

import (
	"context"
	"math"
	"strconv"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// format is a way of using the paper: the size of a page, of its printed part, and
// of the step from one page's part of the sheet to the next.
type format struct {
	page, window, step geom.Point // mm
}

// newFormat returns the format for pages of a size, all in mm.
func newFormat(width, height, margin, overlap float64) format {
	window := geom.Pt(width-2*margin, height-2*margin)
	return format{geom.Pt(width, height), window, window.Sub(geom.Pt(overlap, overlap))}
}

// tile is the column and row of a page on the sheet.
type tile struct{ col, row int }

// windowOf returns the part of the sheet that the page of a tile shows.
func (f format) windowOf(t tile) geom.Box {
	at := geom.Pt(float64(t.col)*f.step.X, float64(t.row)*f.step.Y)
	return geom.Box{Min: at, Max: at.Add(f.window)}
}

// name returns the column as a letter and the row as a number: B3.
func (t tile) name() string {
	letters := ""
	for c := t.col; c >= 0; c = c/26 - 1 {
		letters = string(rune('A'+c%26)) + letters
	}
	return letters + strconv.Itoa(t.row+1)
}

// corners returns the names of the first and the last column and row of tiles, as
// A1 and G9.
func corners(tiles []tile) (first, last string) {
	low, high := tiles[0], tiles[0]
	for _, t := range tiles {
		low = tile{min(low.col, t.col), min(low.row, t.row)}
		high = tile{max(high.col, t.col), max(high.row, t.row)}
	}
	return low.name(), high.name()
}

// tilesOf returns the tiles that any of the outlines meets, row by row. A tile
// inside a piece counts too, even if no line crosses it. With an overlap, a tile
// that its neighbours to the left and above show completely does not count. The
// error is that of ctx.
func (f format) tilesOf(ctx context.Context, outlines [][]geom.Point) ([]tile, error) {
	g := newCellGrid(f.step)
	end := geom.EmptyBox()
	for _, o := range outlines {
		end = end.Union(geom.BoxOf(o...))
	}
	cols, rows := int(end.Max.X/f.step.X)+1, int(end.Max.Y/f.step.Y)+1
	if err := cost.Take(ctx, cols*rows*(g.nx*g.ny/8+tileBytes)); err != nil {
		return nil, err
	}
	r := grid.New(geom.Point{}, g.unit, cols*g.nx, rows*g.ny)
	for _, o := range outlines {
		r.Fill(o, 0)
	}
	// the cells of a tile that the neighbour's window shows too
	lapX := int((f.window.X - f.step.X) / g.unit.X)
	lapY := int((f.window.Y - f.step.Y) / g.unit.Y)
	shown := make(map[tile]bool, cols*rows)
	var tiles []tile
	for row := range rows {
		if err := cost.Step(ctx); err != nil {
			return nil, err
		}
		for col := range cols {
			x0, y0, x1, y1 := col*g.nx, row*g.ny, (col+1)*g.nx-1, (row+1)*g.ny-1
			if shown[tile{col - 1, row}] {
				x0 += lapX
			}
			if shown[tile{col, row - 1}] {
				y0 += lapY
			}
			if !r.Free(x0, y0, x1, y1) {
				shown[tile{col, row}] = true
				tiles = append(tiles, tile{col, row})
			}
		}
	}
	return tiles, nil
}

// tileBytes is about the memory of a tile in the lists of tilesOf.
const tileBytes = 64

// area returns the total area of the outlines, mm².
func area(outlines [][]geom.Point) float64 {
	var sum float64
	for _, o := range outlines {
		var twice float64
		prev := o[len(o)-1]
		for _, p := range o {
			twice += prev.Cross(p)
			prev = p
		}
		sum += math.Abs(twice) / 2
	}
	return sum
}
