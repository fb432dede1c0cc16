package grid

import (
	"math"
	"math/bits"

	"tapeline/drafting/geom"
)

// FirstRoom returns the first w by h cells of which none is set, row by row. The
// grid must have at most WordBits columns.
func (g *Grid) FirstRoom(w, h int) (x, y int, ok bool) {
	if w > g.W {
		return 0, 0, false
	}
	for y := range g.H - h + 1 {
		taken := ^uint64(0) << g.W // the columns beyond the grid
		if g.W == WordBits {
			taken = 0
		}
		for _, row := range g.bits[y*g.stride : (y+h-1)*g.stride+1] {
			taken |= row // the spare words are zero
		}
		// Keep a bit where the w cells from it on are free.
		free := ^taken
		for have := 1; have < w; {
			step := min(have, w-have)
			free &= free >> step
			have += step
		}
		if free != 0 {
			return bits.TrailingZeros64(free), y, true
		}
	}
	return 0, 0, false
}

// Sums holds the number of set cells above and to the left of every corner of a
// grid of square blocks of cells, so that four look-ups count any rectangle of
// blocks (a summed-area table).
type Sums struct {
	W, H          int // blocks
	origin, block geom.Point
	n             []int32
}

// Sums counts in square blocks of block cells to a side.
func (g *Grid) Sums(block int) Sums {
	s := Sums{
		W: (g.W + block - 1) / block, H: (g.H + block - 1) / block,
		origin: g.Origin, block: g.Cell.Mul(float64(block)),
	}
	line := s.W + 1
	s.n = make([]int32, line*(s.H+1))
	mask := uint64(1)<<block - 1
	for by := range s.H {
		above, here := s.n[by*line:], s.n[(by+1)*line:]
		for y := by * block; y < min((by+1)*block, g.H); y++ {
			row := g.row(y)
			for bx := range s.W {
				x := bx * block
				v := row[x>>6]>>(x&63) | row[x>>6+1]<<(64-x&63)
				here[bx+1] += int32(bits.OnesCount64(v & mask))
			}
		}
		var run int32
		for bx := 1; bx <= s.W; bx++ {
			run += here[bx]
			here[bx] = above[bx] + run
		}
	}
	return s
}

// Columns appends to dst, for every column of blocks and the end, the number of
// cells set to the left of it in rows y0 to y1 of blocks, without the last.
func (s Sums) Columns(dst []int32, y0, y1 int) []int32 {
	line := s.W + 1
	above := s.n[y0*line:]
	for x, n := range s.n[y1*line : (y1+1)*line] {
		dst = append(dst, n-above[x])
	}
	return dst
}

// In returns the number of set cells in columns x0 to x1 and rows y0 to y1 of
// blocks, without the last of each.
func (s Sums) In(x0, y0, x1, y1 int) int {
	line := s.W + 1
	return int(s.n[y1*line+x1] - s.n[y0*line+x1] - s.n[y1*line+x0] + s.n[y0*line+x0])
}

// NearestRoom returns the middle of the rectangle of w by h free blocks that lies
// nearest to a point, the first of several.
func (s Sums) NearestRoom(w, h int, to geom.Point) (middle geom.Point, ok bool) {
	best := math.Inf(1)
	line := s.W + 1
	for row := 0; row+h <= s.H; row++ {
		y := s.origin.Y + (float64(row)+float64(h)/2)*s.block.Y
		dy := y - to.Y
		if dy*dy >= best {
			continue // no rectangle of the row is nearer
		}
		top, bottom := s.n[row*line:(row+1)*line], s.n[(row+h)*line:(row+h+1)*line]
		for col := range len(top) - w {
			if bottom[col+w]-bottom[col]-top[col+w]+top[col] != 0 {
				continue
			}
			x := s.origin.X + (float64(col)+float64(w)/2)*s.block.X
			dx := x - to.X
			if d := dx*dx + dy*dy; d < best {
				middle, best, ok = geom.Pt(x, y), d, true
			}
		}
	}
	return middle, ok
}
