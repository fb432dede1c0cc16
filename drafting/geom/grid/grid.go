// Package grid marks what outlines and lines touch in a grid of cells, and finds
// room between them.
package grid

import (
	"math"
	"math/bits"

	"tapeline/drafting/geom"
)

// Grid is a set of cells over a rectangle, a bit each. Cell (x, y) covers the
// points from Origin + (x, y)·Cell to Origin + (x+1, y+1)·Cell.
type Grid struct {
	Origin, Cell geom.Point // mm
	W, H         int        // cells

	stride int // words in a row; one is spare, since shifted rows run over
	bits   []uint64
	flips  []uint64 // for inside; all zero between its calls
}

// WordBits is the number of columns up to which FirstRoom works.
const WordBits = 64

// New returns a grid of w by h cells of which none is set.
func New(origin, cell geom.Point, w, h int) *Grid {
	stride := (w+63)/64 + 1
	return &Grid{Origin: origin, Cell: cell, W: w, H: h, stride: stride, bits: make([]uint64, stride*h)}
}

// Clear clears all cells.
func (g *Grid) Clear() { clear(g.bits) }

func (g *Grid) row(y int) []uint64 { return g.bits[y*g.stride : (y+1)*g.stride] }

// Has reports whether a cell of the grid is set.
func (g *Grid) Has(x, y int) bool { return g.bits[y*g.stride+x>>6]>>(x&63)&1 != 0 }

// SetRun sets the cells from x0 to x1 inclusive of row y. It ignores cells outside
// the grid.
func (g *Grid) SetRun(y, x0, x1 int) {
	x0, x1 = max(x0, 0), min(x1, g.W-1)
	if x0 > x1 || y < 0 || y >= g.H {
		return
	}
	row := g.row(y)
	a, b := x0>>6, x1>>6
	first, last := ^uint64(0)<<(x0&63), ^uint64(0)>>(63-x1&63)
	if a == b {
		row[a] |= first & last
		return
	}
	row[a] |= first
	for i := a + 1; i < b; i++ {
		row[i] = ^uint64(0)
	}
	row[b] |= last
}

// Cells returns the first and the last column and row of the cells that a box
// touches. They may lie outside the grid.
func (g *Grid) Cells(b geom.Box) (x0, y0, x1, y1 int) {
	return g.column(b.Min.X), g.line(b.Min.Y), g.column(b.Max.X), g.line(b.Max.Y)
}

func (g *Grid) column(x float64) int { return int(math.Floor((x - g.Origin.X) / g.Cell.X)) }
func (g *Grid) line(y float64) int   { return int(math.Floor((y - g.Origin.Y) / g.Cell.Y)) }

// SetBox sets every cell that a box touches.
func (g *Grid) SetBox(b geom.Box) {
	x0, y0, x1, y1 := g.Cells(b)
	for y := y0; y <= y1; y++ {
		g.SetRun(y, x0, x1)
	}
}

// Fill sets every cell that the closed polygon touches, grown by grow mm on every
// side.
func (g *Grid) Fill(points []geom.Point, grow float64) {
	g.Stroke(points, grow)
	g.Line(points[len(points)-1], points[0], grow)
	g.Inside(points)
}

// Stroke sets every cell that the lines from point to point touch, grown by grow
// mm on every side.
func (g *Grid) Stroke(points []geom.Point, grow float64) {
	for i := 1; i < len(points); i++ {
		g.Line(points[i-1], points[i], grow)
	}
}

// Line sets every cell that the line from a to b touches, grown by grow mm on
// every side.
func (g *Grid) Line(a, b geom.Point, grow float64) {
	if a.Y > b.Y {
		a, b = b, a
	}
	slope := 0.0
	if b.Y > a.Y {
		slope = (b.X - a.X) / (b.Y - a.Y)
	}
	y0, y1 := max(g.line(a.Y-grow), 0), min(g.line(b.Y+grow), g.H-1)
	for y := y0; y <= y1; y++ {
		// the part of the line within this row of cells and grow above and below
		top, bottom := g.Origin.Y+float64(y)*g.Cell.Y-grow, g.Origin.Y+float64(y+1)*g.Cell.Y+grow
		xa, xb := a.X, b.X
		if a.Y < top {
			xa = a.X + slope*(top-a.Y)
		}
		if b.Y > bottom {
			xb = a.X + slope*(bottom-a.Y)
		}
		if xa > xb {
			xa, xb = xb, xa
		}
		const hair = 1e-9 // so that rounding errors never leave out a cell
		g.SetRun(y, g.column(xa-grow-hair), g.column(xb+grow+hair))
	}
}

// Inside sets the cells inside the closed polygon (even-odd rule on the middle
// line of each row). Along its sides it is exact to within a cell.
func (g *Grid) Inside(points []geom.Point) {
	if g.flips == nil {
		g.flips = make([]uint64, len(g.bits))
	}
	g.markSides(points)
	// Every mark flips all cells after it.
	b := geom.BoxOf(points...)
	for y := max(g.line(b.Min.Y), 0); y <= min(g.line(b.Max.Y), g.H-1); y++ {
		row, flips := g.row(y), g.flips[y*g.stride:(y+1)*g.stride]
		carry := uint64(0)
		for i, v := range flips[:g.stride-1] {
			if v != 0 {
				for shift := 1; shift < 64; shift *= 2 {
					v ^= v << shift
				}
			}
			v ^= carry
			carry = -(v >> 63) // all ones if the flip continues in the next word
			if i == g.stride-2 && g.W&63 != 0 {
				v &= ^uint64(0) >> (64 - g.W&63)
			}
			row[i] |= v
		}
		clear(flips)
	}
}

// markSides marks the cell where each row's middle line crosses a side.
func (g *Grid) markSides(points []geom.Point) {
	prev := points[len(points)-1]
	for _, p := range points {
		a, b := prev, p
		prev = p
		if a.Y > b.Y {
			a, b = b, a
		}
		y0 := max(int(math.Ceil((a.Y-g.Origin.Y)/g.Cell.Y-0.5))-1, 0) // one before: the quotient may be rounded up
		for y := y0; y < g.H; y++ {
			m := g.Origin.Y + (float64(y)+0.5)*g.Cell.Y
			if m < a.Y {
				continue // not on the side, which may be level and have no place to cross at
			}
			if m >= b.Y {
				break
			}
			x := (a.X + (m-a.Y)/(b.Y-a.Y)*(b.X-a.X) - g.Origin.X) / g.Cell.X
			if c := int(math.Floor(max(x, 0))); c < g.W {
				g.flips[y*g.stride+c>>6] ^= 1 << (c & 63)
			}
		}
	}
}

// Invert sets the cells that are clear and clears those that are set.
func (g *Grid) Invert() {
	for y := range g.H {
		row := g.row(y)
		for i := range row[:g.stride-1] {
			row[i] = ^row[i]
		}
		if g.W&63 != 0 {
			row[g.stride-2] &= ^uint64(0) >> (64 - g.W&63)
		}
	}
}

// Collides reports whether a cell of s, with its corner on (x, y), is set in g. s
// must lie within g.
func (g *Grid) Collides(s *Grid, x, y int) bool {
	words, shift := s.stride-1, uint(x&63)
	// Every eighth row comes first: outlines that overlap mostly do so in many rows.
	for start := range min(8, s.H) {
		for sy := start; sy < s.H; sy += 8 {
			row := s.bits[sy*s.stride : sy*s.stride+words]
			under := g.bits[(y+sy)*g.stride+x>>6:][:words+1]
			for i, v := range row {
				if under[i]&(v<<shift) != 0 || under[i+1]&(v>>(64-shift)) != 0 {
					return true
				}
			}
		}
	}
	return false
}

// Union sets the cells that are set in s, a grid of the same size.
func (g *Grid) Union(s *Grid) {
	for i, v := range s.bits {
		g.bits[i] |= v
	}
}

// Add sets the cells of s, with its corner on (x, y). It ignores cells outside g.
func (g *Grid) Add(s *Grid, x, y int) {
	for sy := range s.H {
		if y+sy < 0 || y+sy >= g.H {
			continue
		}
		for i, v := range s.row(sy) {
			for v != 0 {
				n := bits.TrailingZeros64(v)
				run := bits.TrailingZeros64(^(v >> n))
				g.SetRun(y+sy, x+i*64+n, x+i*64+n+run-1)
				if n+run >= 64 {
					break
				}
				v &= ^uint64(0) << (n + run)
			}
		}
	}
}

// Free reports whether no cell is set from (x0, y0) to (x1, y1) inclusive. Cells
// outside the grid are not free.
func (g *Grid) Free(x0, y0, x1, y1 int) bool {
	return x0 >= 0 && y0 >= 0 && x1 < g.W && y1 < g.H && g.Count(x0, y0, x1, y1) == 0
}

// Count returns the number of cells set from (x0, y0) to (x1, y1) inclusive.
func (g *Grid) Count(x0, y0, x1, y1 int) int {
	n := 0
	a, b := x0>>6, x1>>6
	first, last := ^uint64(0)<<(x0&63), ^uint64(0)>>(63-x1&63)
	for y := y0; y <= y1; y++ {
		row := g.row(y)
		if a == b {
			n += bits.OnesCount64(row[a] & first & last)
			continue
		}
		n += bits.OnesCount64(row[a]&first) + bits.OnesCount64(row[b]&last)
		for _, v := range row[a+1 : b] {
			n += bits.OnesCount64(v)
		}
	}
	return n
}
