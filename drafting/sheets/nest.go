package sheets

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// searchBudget limits the search: the number of pieces placed in all passes. It
// takes about a millisecond.
const searchBudget = 150

// between is the number of spots of a candidate tried besides its corners.
const between = 1

// maxColumns is the maximum number of columns of tiles on the board: 64 bits hold
// a row of them. Wider patterns stay in a row.
const maxColumns = 64

// nest searches for placements that make few pages. It places the pieces one by
// one, each where it adds the fewest tiles to those in use, again and again in
// different orders and with different choices between equals. The choices follow
// a fixed sequence, so that the same pieces always get the same placements.
type nest struct {
	cellGrid
	shapes [][2]shape // of each piece: as drawn, and turned by half
	board  *grid.Grid // where no further piece may lie
	used   []uint64   // the tiles with ink: a row of bits for each row of tiles

	boardCols, boardRows int // tiles on the board
	cols                 int // columns and rows of tiles in use, from the corner of the board
	rows                 int
	room                 []int // free cells of each tile
	rand                 *rand.Rand
	order                []int
	weights              []float64 // of the pieces, for reorder
	spots                []spot
	ranked               [][]candidate // by the number of tiles that they add
}

// spot is the position of a piece on the board: that of its shape's corner, in
// cells, and whether it is turned by half (1).
type spot struct{ x, y, turn int }

// candidate is a set of spots at which a piece meets the same tiles.
type candidate struct {
	cover, turn int32 // index among the covers of the piece turned so
	tx, ty      int32 // tile of the piece's corner
}

// newNest prepares a search for outlines on tiles of a size, with a gap between
// them, in mm. The error is that of ctx.
func newNest(ctx context.Context, outlines [][]geom.Point, tile geom.Point, gap float64) (*nest, error) {
	n := &nest{
		cellGrid: newCellGrid(tile),
		rand:     rand.New(rand.NewPCG(1, 1)),
		order:    make([]int, len(outlines)),
		weights:  make([]float64, len(outlines)),
		spots:    make([]spot, len(outlines)),
	}
	var area, widest, tallest float64
	tall := 0
	for i, o := range outlines {
		if err := cost.Take(ctx, 4*gridBytes(geom.BoxOf(o...), n.unit)); err != nil {
			return nil, err
		}
		s := [2]shape{newShape(o, n.unit, gap), newShape(turned(o), n.unit, gap)}
		for t := range s {
			s[t].covers = coversOf(s[t].body, n.cellGrid)
			tall = max(tall, len(s[t].covers[0].rows))
		}
		n.shapes = append(n.shapes, s)
		n.order[i] = i
		b := geom.BoxOf(o...)
		area += b.Width() * b.Height()
		widest, tallest = max(widest, b.Width()), max(tallest, b.Height())
	}
	// Room for a sheet about as wide as a table, even for a bad placing.
	width := max(1200, widest+tile.X, 1.2*math.Sqrt(area))
	n.boardCols = min(int(math.Ceil(width/tile.X)), maxColumns)
	n.boardRows = int(math.Ceil((2*area/width+tallest)/tile.Y)) + 1
	if err := cost.Take(ctx, n.boardCols*n.boardRows*n.nx*n.ny/8); err != nil {
		return nil, err
	}
	n.board = grid.New(geom.Point{}, n.unit, n.boardCols*n.nx, n.boardRows*n.ny)
	n.room = make([]int, n.boardCols*n.boardRows)
	n.used = make([]uint64, n.boardRows+tall)
	return n, nil
}

// gridBytes returns the memory of a grid over a box.
func gridBytes(b geom.Box, unit geom.Point) int {
	return int(b.Width() / unit.X * b.Height() / unit.Y / 8)
}

// run places the pieces again and again until the budget is used up, visit
// returns true, or the context is cancelled. visit receives the number of tiles
// met. The next run continues where this one stopped.
func (n *nest) run(ctx context.Context, budget int, visit func(tiles int) (enough bool)) {
	for ; budget > 0 && !cost.Ended(ctx); budget -= len(n.order) {
		n.reorder()
		if tiles, ok := n.pass(); ok && visit(tiles) {
			return
		}
	}
}

// reorder draws an order by chance in which large pieces mostly come first: small
// ones find room between them.
func (n *nest) reorder() {
	for i, s := range n.shapes {
		n.weights[i] = float64(s[0].cells) * (1 + 2*n.rand.Float64())
	}
	slices.SortFunc(n.order, func(a, b int) int { return cmp.Compare(n.weights[b], n.weights[a]) })
}

// pass places every piece once and returns the number of tiles met. ok is false if
// the board is too small for the choices made.
func (n *nest) pass() (tiles int, ok bool) {
	n.board.Clear()
	clear(n.used)
	for i := range n.room {
		n.room[i] = n.nx * n.ny
	}
	n.cols, n.rows = 0, 0
	for _, piece := range n.order {
		n.rank(piece)
		added, c, s := n.choose(piece)
		if added < 0 {
			return 0, false
		}
		n.put(piece, c, s)
		tiles += added
	}
	return tiles, true
}

// rank sorts the ways to place a piece by the number of tiles that they add, with
// its corner in the part of the board in use, or just right of it or below it.
func (n *nest) rank(piece int) {
	for i := range n.ranked {
		n.ranked[i] = n.ranked[i][:0]
	}
	for turn := range 2 {
		for ty := range min(n.rows+1, n.boardRows) {
			for tx := range min(n.cols+1, n.boardCols) {
				if ty == n.rows && tx > 0 || tx == n.cols && ty > 0 {
					continue // equal to the first tile beside or below
				}
				n.rankAt(piece, turn, tx, ty)
			}
		}
	}
}

// rankAt ranks the ways to place a piece with its corner in one tile.
func (n *nest) rankAt(piece, turn, tx, ty int) {
	covers := n.shapes[piece][turn].covers
	for i := range covers {
		added := covers[i].fresh(n.used, tx, ty)
		for len(n.ranked) <= added {
			n.ranked = append(n.ranked, nil)
		}
		n.ranked[added] = append(n.ranked[added], candidate{int32(i), int32(turn), int32(tx), int32(ty)})
	}
}

// choose returns a free spot for the piece among those that add the fewest tiles;
// added is -1 if there is none.
func (n *nest) choose(piece int) (added int, c candidate, s spot) {
	for added, list := range n.ranked {
		if len(list) == 0 {
			continue
		}
		first := n.rand.IntN(len(list))
		for i := range list {
			c := list[(first+i)%len(list)]
			if !n.roomFor(piece, c) {
				continue
			}
			if s, ok := n.try(piece, c); ok {
				return added, c, s
			}
		}
	}
	return -1, candidate{}, spot{}
}

// roomFor reports whether the tiles of a candidate have enough free cells, each
// and together. This rules out most candidates.
func (n *nest) roomFor(piece int, c candidate) bool {
	s := &n.shapes[piece][c.turn]
	sum := 0
	for _, need := range s.covers[c.cover].needs {
		tx, ty := int(c.tx)+need.tx, int(c.ty)+need.ty
		if tx >= n.boardCols || ty >= n.boardRows {
			return false
		}
		room := n.room[ty*n.boardCols+tx]
		if room < need.cells {
			return false
		}
		sum += room
	}
	return sum >= s.cells
}

// try returns a free spot among those of a candidate. It tries the corners of the
// range of spots, where a piece leaves most room beside it, and some between.
func (n *nest) try(piece int, c candidate) (spot, bool) {
	s := &n.shapes[piece][c.turn]
	at, corners := s.covers[c.cover].at, s.covers[c.cover].corners
	first := n.rand.IntN(len(corners))
	for i := range len(corners) + between {
		corner := corners[(first+i)%len(corners)]
		if i >= len(corners) {
			corner = at[n.rand.IntN(len(at))]
		}
		x, y := int(c.tx)*n.nx+int(corner.x), int(c.ty)*n.ny+int(corner.y)
		if x+s.body.W > n.board.W || y+s.body.H > n.board.H {
			continue
		}
		if !n.board.Collides(s.body, x, y) {
			return spot{x, y, int(c.turn)}, true
		}
	}
	return spot{}, false
}

// put places the piece for this pass.
func (n *nest) put(piece int, c candidate, at spot) {
	s := &n.shapes[piece][at.turn]
	n.spots[piece] = at
	n.board.Add(s.clear, at.x-s.halo, at.y-s.halo)
	cover := &s.covers[c.cover]
	for i, row := range cover.rows {
		if row != 0 {
			n.used[int(c.ty)+i] |= row << c.tx
			n.cols, n.rows = max(n.cols, int(c.tx)+bits.Len64(row)), max(n.rows, int(c.ty)+i+1)
		}
	}
	for _, need := range cover.needs {
		tx, ty := int(c.tx)+need.tx, int(c.ty)+need.ty
		n.room[ty*n.boardCols+tx] = n.nx*n.ny - n.board.Count(tx*n.nx, ty*n.ny, (tx+1)*n.nx-1, (ty+1)*n.ny-1)
	}
}

// tiles returns the tiles met in the last pass, row by row.
func (n *nest) tiles() []tile {
	var tiles []tile
	for y, row := range n.used {
		for ; row != 0; row &= row - 1 {
			tiles = append(tiles, tile{bits.TrailingZeros64(row), y})
		}
	}
	return tiles
}

// placement returns the placement of a piece on the sheet.
func (n *nest) placement(piece int) placement {
	at := n.spots[piece]
	corner := n.shapes[piece][at.turn].corner
	return placement{at.turn == 1, geom.Pt(float64(at.x)*n.unit.X, float64(at.y)*n.unit.Y).Sub(corner)}
}
