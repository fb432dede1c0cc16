package sheets

import (
	"math"
	"math/bits"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

const (
	// lineClear is the distance in mm that a cut line keeps from the edge of a
	// page: a little more than half of the thickest stroke, so that half of a line
	// along the edge is not lost in the margin.
	lineClear = 1.0
)

// cellGrid is the division of a tile into cells for the search.
type cellGrid struct {
	nx, ny int        // cells of a tile
	unit   geom.Point // size of a cell, mm
}

// lattice is the distance in cells between the positions at which a piece is
// tried. Fine cells let pieces lie close together; trying every cell would take
// time from further passes, which gain more.
const lattice = 2

// newCellGrid divides a tile into cells of about 6 mm, at most 128 each way, in
// whole steps of the lattice.
func newCellGrid(tile geom.Point) cellGrid {
	n := func(side float64) int { return lattice * int(min(max(math.Round(side/12.5), 1), 64)) }
	nx, ny := n(tile.X), n(tile.Y)
	return cellGrid{nx, ny, geom.Pt(tile.X/float64(nx), tile.Y/float64(ny))}
}

// shape is the outline of a piece, turned in one way, as cells.
type shape struct {
	corner geom.Point // of body, mm in the axes of the outline
	body   *grid.Grid // the cells that the piece touches
	clear  *grid.Grid // the cells that another piece must keep out of
	halo   int        // the cells by which clear exceeds body on every side
	cells  int        // the number of cells set in body
	covers []cover    // for the search by tiles only
}

// newShape returns the shape of an outline in cells of a size, mm.
func newShape(outline []geom.Point, unit geom.Point, gap float64) shape {
	box := geom.BoxOf(outline...).Grow(lineClear)
	w, h := int(math.Ceil(box.Width()/unit.X)), int(math.Ceil(box.Height()/unit.Y))
	s := shape{corner: box.Min, body: grid.New(box.Min, unit, w, h)}
	s.body.Fill(outline, lineClear)
	s.cells = s.body.Count(0, 0, w-1, h-1)
	s.halo = int(math.Ceil(gap / min(unit.X, unit.Y)))
	s.clear = grid.New(box.Min.Sub(unit.Mul(float64(s.halo))), unit, w+2*s.halo, h+2*s.halo)
	s.clear.Fill(outline, lineClear+gap)
	return s
}

// cover is a set of tiles that a shape may meet. The shape meets exactly these
// tiles if its corner lies in one of the cells of at within the first tile.
type cover struct {
	rows    []uint64 // a row of bits for each row of tiles, from the first tile
	needs   []need
	at      []cell
	corners [4]cell // of at: top left, top right, bottom right, bottom left
}

// need is the minimum number of cells of the shape in a tile of a cover.
type need struct{ tx, ty, cells int }

type cell struct{ x, y int32 }

// coversOf returns the different sets of tiles that a body may meet, depending on
// where in a tile its corner lies.
func coversOf(body *grid.Grid, g cellGrid) []cover {
	var covers []cover
	sum := body.Sums(lattice)
	nx, ny := g.nx/lattice, g.ny/lattice // a tile in blocks
	rows := make([]uint64, (sum.H+ny-2)/ny+1)
	left := make([][]int32, len(rows)) // of each row of tiles, the cells to the left of each block
	var needs []need
	last := -1
	for py := range ny {
		for ty := range rows {
			y1 := min((ty+1)*ny-py, sum.H)
			left[ty] = sum.Columns(left[ty][:0], min(max(ty*ny-py, 0), y1), y1)
		}
		for px := range nx {
			needs = needs[:0]
			for ty, left := range left {
				rows[ty] = 0
				for tx, x0 := 0, 0; x0 < sum.W; tx++ {
					x1 := min((tx+1)*nx-px, sum.W)
					if cells := int(left[x1] - left[x0]); cells > 0 {
						rows[ty] |= 1 << tx
						needs = append(needs, need{tx, ty, cells})
					}
					x0 = x1
				}
			}
			if last < 0 || !slices.Equal(covers[last].rows, rows) {
				last = slices.IndexFunc(covers, func(c cover) bool { return slices.Equal(c.rows, rows) })
			}
			if last < 0 {
				last = len(covers)
				covers = append(covers, cover{rows: slices.Clone(rows), needs: slices.Clone(needs)})
			}
			covers[last].add(cell{int32(px * lattice), int32(py * lattice)}, needs)
		}
	}
	return covers
}

// add adds a cell in which the corner may lie. needs are the cells of the shape in
// each tile of the cover then.
func (c *cover) add(at cell, needs []need) {
	if len(c.at) == 0 {
		c.corners = [4]cell{at, at, at, at}
	}
	c.at = append(c.at, at)
	for i, d := range [4]cell{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		if far := c.corners[i]; at.x*d.x+at.y*d.y > far.x*d.x+far.y*d.y {
			c.corners[i] = at
		}
	}
	for i := range needs {
		c.needs[i].cells = min(c.needs[i].cells, needs[i].cells)
	}
}

// fresh returns the number of tiles that c adds to those in use if the shape's
// corner lies in tile (tx, ty).
func (c *cover) fresh(used []uint64, tx, ty int) int {
	n := 0
	for i, row := range c.rows {
		n += bits.OnesCount64(row << tx &^ used[ty+i])
	}
	return n
}
