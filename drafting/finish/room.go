package finish

import (
	"math"

	"tapeline/drafting/geom"
)

// obstacle is what stands in the way of lettering; a set of bits.
type obstacle uint8

const (
	obstacleOutside obstacle = 1 << iota // beyond the seam line, or on it
	obstacleDart
	obstacleMark // grain, bracket, drill holes, other lettering
	obstacleLine // bust, waist, hip
)

// The room is looked at in at most this many cells, none under minCell mm.
const (
	maxColumns = 48
	maxRows    = 96
	minCell    = 0.5
)

// room is a grid over a piece that knows for each cell what touches it. A cell
// free of an obstacle is free of it throughout, so a box of free cells is.
type room struct {
	origin        geom.Point
	cell          geom.Point // width and height of a cell, mm
	columns, rows int
	cells         []obstacle
	lines         []barred
	counts        []int32  // barred cells above and left of each corner of the grid
	counted       obstacle // what the counts bar; zero when they are out of date
}

// barred is a straight line that lettering must not touch.
type barred struct {
	from, to geom.Point
	what     obstacle
}

// newRoom lays the grid over a closed outline given as points.
func newRoom(outline []geom.Point) *room {
	b := geom.BoxOf(outline...)
	r := &room{origin: b.Min}
	r.columns = max(1, min(maxColumns, int(b.Width()/minCell)))
	r.rows = max(1, min(maxRows, int(b.Height()/minCell)))
	r.cell = geom.Pt(b.Width()/float64(r.columns), b.Height()/float64(r.rows))
	r.cells = make([]obstacle, r.columns*r.rows)
	r.barOutside(outline)
	r.bar(outline, obstacleOutside)
	return r
}

// barOutside marks the cells whose middle lies outside the outline (even-odd
// rule along each row).
func (r *room) barOutside(outline []geom.Point) {
	// Where the outline passes a row's middle line, the cells right of it
	// change sides; passed[row*stride+col] is set where they do from col on.
	stride := r.columns + 1
	passed := make([]bool, stride*r.rows)
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		for row := max(0, r.row(min(a.Y, b.Y))-1); row <= min(r.rows-1, r.row(max(a.Y, b.Y))+1); row++ {
			y := r.origin.Y + (float64(row)+0.5)*r.cell.Y
			if (a.Y <= y) == (b.Y <= y) {
				continue
			}
			x := a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X)
			col := int(math.Ceil((x-r.origin.X)/r.cell.X - 0.5))
			at := row*stride + min(max(col, 0), r.columns)
			passed[at] = !passed[at]
		}
	}
	for row := range r.rows {
		inside := false
		for col := range r.columns {
			inside = inside != passed[row*stride+col]
			if !inside {
				r.cells[row*r.columns+col] |= obstacleOutside
			}
		}
	}
}

func (r *room) column(x float64) int { return int(math.Floor((x - r.origin.X) / r.cell.X)) }
func (r *room) row(y float64) int    { return int(math.Floor((y - r.origin.Y) / r.cell.Y)) }

// bar marks every cell that the run of straight lines touches.
func (r *room) bar(points []geom.Point, o obstacle) {
	for i := 1; i < len(points); i++ {
		r.lines = append(r.lines, barred{points[i-1], points[i], o})
		r.barLine(points[i-1], points[i], o)
	}
	r.counted = 0
}

// barLine marks, row by row, the columns that the line from a to b crosses.
func (r *room) barLine(a, b geom.Point, o obstacle) {
	if a.Y > b.Y {
		a, b = b, a
	}
	for row := max(0, r.row(a.Y)); row <= min(r.rows-1, r.row(b.Y)); row++ {
		lo, hi := a, b
		if top := r.origin.Y + float64(row)*r.cell.Y; a.Y < top {
			lo = a.Lerp(b, (top-a.Y)/(b.Y-a.Y))
		}
		if bottom := r.origin.Y + float64(row+1)*r.cell.Y; b.Y > bottom {
			hi = a.Lerp(b, (bottom-a.Y)/(b.Y-a.Y))
		}
		// A hair wider, so that rounding never leaves out a cell.
		const hair = 1e-9
		first, last := r.column(min(lo.X, hi.X)-hair), r.column(max(lo.X, hi.X)+hair)
		for col := max(0, first); col <= min(r.columns-1, last); col++ {
			r.cells[row*r.columns+col] |= o
		}
	}
}

// barBox marks every cell that the box touches.
func (r *room) barBox(b geom.Box, o obstacle) {
	r.lines = append(r.lines, barred{b.Min, b.Max, o}, barred{geom.Pt(b.Min.X, b.Max.Y), geom.Pt(b.Max.X, b.Min.Y), o})
	for row := max(0, r.row(b.Min.Y)); row <= min(r.rows-1, r.row(b.Max.Y)); row++ {
		for col := max(0, r.column(b.Min.X)); col <= min(r.columns-1, r.column(b.Max.X)); col++ {
			r.cells[row*r.columns+col] |= o
		}
	}
	r.counted = 0
}

// count sums the cells barred by any of o, as a summed-area table.
func (r *room) count(o obstacle) {
	if r.counted == o {
		return
	}
	stride := r.columns + 1
	if r.counts == nil {
		r.counts = make([]int32, stride*(r.rows+1))
	}
	r.counted = o
	for row := range r.rows {
		var sum int32
		for col := range r.columns {
			if r.cells[row*r.columns+col]&o != 0 {
				sum++
			}
			r.counts[(row+1)*stride+col+1] = r.counts[row*stride+col+1] + sum
		}
	}
}

// place finds the free box of a width and height nearest to want (middle to
// middle) that no cell barred by o touches.
func (r *room) place(width, height float64, want geom.Point, o obstacle) (geom.Box, bool) {
	r.count(o)
	w, h := int(math.Ceil(width/r.cell.X-1e-9)), int(math.Ceil(height/r.cell.Y-1e-9))
	stride := r.columns + 1
	best, bestCol, bestRow := math.Inf(1), -1, -1
	for row := 0; row+h <= r.rows; row++ {
		top, bottom := r.counts[row*stride:], r.counts[(row+h)*stride:]
		dy := r.origin.Y + (float64(row)+float64(h)/2)*r.cell.Y - want.Y
		for col := 0; col+w <= r.columns; col++ {
			if bottom[col+w]-bottom[col]-top[col+w]+top[col] != 0 {
				continue
			}
			dx := r.origin.X + (float64(col)+float64(w)/2)*r.cell.X - want.X
			if d := dx*dx + dy*dy; d < best {
				best, bestCol, bestRow = d, col, row
			}
		}
	}
	if bestCol < 0 {
		return geom.Box{}, false
	}
	// The block stands in the middle of the cells that were found for it.
	mid := geom.Pt(
		r.origin.X+(float64(bestCol)+float64(w)/2)*r.cell.X,
		r.origin.Y+(float64(bestRow)+float64(h)/2)*r.cell.Y,
	)
	half := geom.Pt(width/2, height/2)
	return geom.Box{Min: mid.Sub(half), Max: mid.Add(half)}, true
}

// free reports whether the box with the given corners, turned or not, lies in
// the piece and touches nothing barred by o. Unlike place it is exact.
func (r *room) free(corners [4]geom.Point, o obstacle) bool {
	a, along, down := corners[0], corners[1].Sub(corners[0]), corners[3].Sub(corners[0])
	if !r.inside(a.Add(along.Add(down).Mul(0.5))) {
		return false
	}
	w, h := along.Dot(along), down.Dot(down)
	within := geom.Box{Max: geom.Pt(1, 1)}
	for _, b := range r.lines {
		if b.what&o == 0 {
			continue
		}
		// In the box's own axes it is the unit square.
		p, q := b.from.Sub(a), b.to.Sub(a)
		s := geom.Line(geom.Pt(p.Dot(along)/w, p.Dot(down)/h), geom.Pt(q.Dot(along)/w, q.Dot(down)/h))
		if within.Overlaps(geom.BoxOf(s.P0, s.P3)) && len(s.ClipToBox(within)) > 0 {
			return false
		}
	}
	return true
}

// inside reports whether p lies within the outline (even-odd rule).
func (r *room) inside(p geom.Point) bool {
	in := false
	for _, b := range r.lines {
		if b.what != obstacleOutside || (b.from.Y <= p.Y) == (b.to.Y <= p.Y) {
			continue
		}
		if b.from.X+(p.Y-b.from.Y)/(b.to.Y-b.from.Y)*(b.to.X-b.from.X) > p.X {
			in = !in
		}
	}
	return in
}
