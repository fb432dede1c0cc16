package sheets

import (
	"math"
	"math/bits"

	"tapeline/drafting/geom"
)

// raster is a part of the paper as cells, one bit each: set where something
// lies. Cell (x, y) covers [x, x+1) by [y, y+1) of the unit it was made with.
type raster struct {
	w, h, stride int
	bits         []uint64
	flips        []uint64 // for inside, all zero between its calls
}

const wordBits = 64

func newRaster(w, h int) raster {
	stride := (w+63)/64 + 1 // one word to spare: shifted rows run over
	return raster{w: w, h: h, stride: stride, bits: make([]uint64, stride*h)}
}

func (r *raster) row(y int) []uint64 { return r.bits[y*r.stride : (y+1)*r.stride] }

// setRun sets the cells from x0 to x1, both included, of row y.
func (r *raster) setRun(y, x0, x1 int) {
	x0, x1 = max(x0, 0), min(x1, r.w-1)
	if x0 > x1 || y < 0 || y >= r.h {
		return
	}
	row := r.row(y)
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

func (r *raster) has(x, y int) bool {
	return r.bits[y*r.stride+x>>6]>>(x&63)&1 != 0
}

// fill sets every cell that the closed polygon, grown by grow on every side,
// touches. The points are in mm with the raster's corner at o; unit is the
// size of a cell in mm.
func (r *raster) fill(points []geom.Point, o, unit geom.Point, grow float64) {
	r.stroke(points, o, unit, grow)
	r.line(points[len(points)-1], points[0], o, unit, grow)
	r.inside(points, o, unit)
}

// stroke sets every cell that the open line through the points, grown by grow
// on every side, touches.
func (r *raster) stroke(points []geom.Point, o, unit geom.Point, grow float64) {
	for i := 1; i < len(points); i++ {
		r.line(points[i-1], points[i], o, unit, grow)
	}
}

func (r *raster) line(a, b, o, unit geom.Point, grow float64) {
	if a.Y > b.Y {
		a, b = b, a
	}
	slope := 0.0
	if b.Y > a.Y {
		slope = (b.X - a.X) / (b.Y - a.Y)
	}
	y0 := max(int(math.Floor((a.Y-grow-o.Y)/unit.Y)), 0)
	y1 := min(int(math.Floor((b.Y+grow-o.Y)/unit.Y)), r.h-1)
	for y := y0; y <= y1; y++ {
		// the run of the line within this row of cells and grow to both sides
		top, bottom := o.Y+float64(y)*unit.Y-grow, o.Y+float64(y+1)*unit.Y+grow
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
		r.setRun(y, int(math.Floor((xa-grow-o.X)/unit.X)), int(math.Floor((xb+grow-o.X)/unit.X)))
	}
}

// inside sets the cells inside the polygon (even-odd rule on the middle line
// of each row); along its sides to within a cell.
func (r *raster) inside(points []geom.Point, o, unit geom.Point) {
	// Mark where each row's middle crosses a side, then let every mark flip
	// all cells after it.
	if r.flips == nil {
		r.flips = make([]uint64, len(r.bits))
	}
	prev := points[len(points)-1]
	for _, p := range points {
		a, b := prev, p
		prev = p
		if a.Y > b.Y {
			a, b = b, a
		}
		y0 := max(int(math.Ceil((a.Y-o.Y)/unit.Y-0.5)), 0)
		for y := y0; y < r.h; y++ {
			m := o.Y + (float64(y)+0.5)*unit.Y
			if m >= b.Y {
				break
			}
			x := (a.X + (m-a.Y)/(b.Y-a.Y)*(b.X-a.X) - o.X) / unit.X
			if c := int(math.Floor(max(x, 0))); c < r.w {
				r.flips[y*r.stride+c>>6] ^= 1 << (c & 63)
			}
		}
	}
	for y := range r.h {
		row, flips := r.row(y), r.flips[y*r.stride:(y+1)*r.stride]
		carry := uint64(0)
		for i, v := range flips[:r.stride-1] {
			for shift := 1; shift < 64; shift *= 2 {
				v ^= v << shift
			}
			v ^= carry
			carry = -(v >> 63) // all ones where the flip runs on into the next word
			if i == r.stride-2 && r.w&63 != 0 {
				v &= ^uint64(0) >> (64 - r.w&63)
			}
			row[i] |= v
		}
		clear(flips)
	}
}

// collides reports whether a cell of s, its corner laid on (x, y), is set in r.
// s must lie within r. Every eighth row is looked at first: pieces that
// overlap mostly do so in many rows.
func (r *raster) collides(s *raster, x, y int) bool {
	words, shift := s.stride-1, uint(x&63)
	for start := range min(8, s.h) {
		for sy := start; sy < s.h; sy += 8 {
			row := s.bits[sy*s.stride : sy*s.stride+words]
			under := r.bits[(y+sy)*r.stride+x>>6:][:words+1]
			for i, v := range row {
				if under[i]&(v<<shift) != 0 || under[i+1]&(v>>(64-shift)) != 0 {
					return true
				}
			}
		}
	}
	return false
}

// add sets the cells of s, its corner laid on (x, y); what falls outside r is lost.
func (r *raster) add(s *raster, x, y int) {
	for sy := range s.h {
		if y+sy < 0 || y+sy >= r.h {
			continue
		}
		for i, v := range s.row(sy) {
			for v != 0 {
				n := bits.TrailingZeros64(v)
				run := bits.TrailingZeros64(^(v >> n))
				r.setRun(y+sy, x+i*64+n, x+i*64+n+run-1)
				if n+run >= 64 {
					break
				}
				v &= ^uint64(0) << (n + run)
			}
		}
	}
}

// free reports whether no cell is set from (x0, y0) to (x1, y1), both included.
// What lies outside the raster is not free.
func (r *raster) free(x0, y0, x1, y1 int) bool {
	return x0 >= 0 && y0 >= 0 && x1 < r.w && y1 < r.h && r.count(x0, y0, x1, y1) == 0
}

// count is the number of cells set from (x0, y0) to (x1, y1), both included.
func (r *raster) count(x0, y0, x1, y1 int) int {
	n := 0
	a, b := x0>>6, x1>>6
	first, last := ^uint64(0)<<(x0&63), ^uint64(0)>>(63-x1&63)
	for y := y0; y <= y1; y++ {
		row := r.row(y)
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

// room finds the first w by h cells of which none is set, row by row. The
// raster must be no wider than a word.
func (r *raster) room(w, h int) (x, y int, ok bool) {
	if w > r.w {
		return 0, 0, false
	}
	for y := range r.h - h + 1 {
		taken := ^uint64(0) << r.w // what lies beyond the raster is
		if r.w == wordBits {
			taken = 0
		}
		for _, row := range r.bits[y*r.stride : (y+h-1)*r.stride+1] {
			taken |= row // the spare words are zero
		}
		// let a bit stay where the w cells from it on are free
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

// sums are the counts of set cells above and to the left of every corner of a
// grid of blocks of cells, so that any rectangle of blocks is counted in four
// look-ups.
type sums struct {
	w, h int // blocks
	n    []int32
}

// sums counts in square blocks of cells, block to a side.
func (r *raster) sums(block int) sums {
	s := sums{w: (r.w + block - 1) / block, h: (r.h + block - 1) / block}
	line := s.w + 1
	s.n = make([]int32, line*(s.h+1))
	mask := uint64(1)<<block - 1
	for by := range s.h {
		above, here := s.n[by*line:], s.n[(by+1)*line:]
		for y := by * block; y < min((by+1)*block, r.h); y++ {
			row := r.row(y)
			for bx := range s.w {
				x := bx * block
				v := row[x>>6]>>(x&63) | row[x>>6+1]<<(64-x&63)
				here[bx+1] += int32(bits.OnesCount64(v & mask))
			}
		}
		var run int32
		for bx := 1; bx <= s.w; bx++ {
			run += here[bx]
			here[bx] = above[bx] + run
		}
	}
	return s
}

// in is the number of set cells in columns x0 to x1 and rows y0 to y1 of
// blocks, the last of each left out.
func (s sums) in(x0, y0, x1, y1 int) int {
	line := s.w + 1
	return int(s.n[y1*line+x1] - s.n[y0*line+x1] - s.n[y1*line+x0] + s.n[y0*line+x0])
}
