package finish

import (
	"math"
	"math/bits"

	"tapeline/drafting/geom"
	"tapeline/drafting/geom/grid"
)

// obstacle is a set of kinds of obstacles to lettering.
type obstacle uint8

const (
	obstacleOutside obstacle = 1 << iota // the seam line, and everything beyond it
	obstacleDart
	obstacleMark // grain, brackets, drill holes, other lettering
	obstacleLine // bust, waist, hip
	obstacleFold // a line along which the piece is folded

	obstacleKinds = iota
)

// The grid of a room has at most this many cells, none under minCell mm.
const (
	maxColumns = 48
	maxRows    = 96
	minCell    = 0.5
)

// room finds room for lettering on a piece.
type room struct {
	obstacles [obstacleKinds]*grid.Grid // the cells that each kind touches
	lines     []barred
	sums      grid.Sums // of the cells that the obstacles in summed touch
	summed    obstacle  // zero if sums is out of date
}

// barred is a straight line that lettering must not touch.
type barred struct {
	from, to geom.Point
	kind     obstacle
}

// newRoom returns the room inside a closed outline given as points.
func newRoom(outline []geom.Point) *room {
	b := geom.BoxOf(outline...)
	columns := max(1, min(maxColumns, int(b.Width()/minCell)))
	rows := max(1, min(maxRows, int(b.Height()/minCell)))
	cell := geom.Pt(b.Width()/float64(columns), b.Height()/float64(rows))
	r := &room{}
	for i := range r.obstacles {
		r.obstacles[i] = grid.New(b.Min, cell, columns, rows)
	}
	outside := r.cells(obstacleOutside)
	outside.Inside(outline)
	outside.Invert()
	r.bar(outline, obstacleOutside)
	return r
}

// cells returns the cells that one kind of obstacle touches.
func (r *room) cells(kind obstacle) *grid.Grid { return r.obstacles[bits.TrailingZeros8(uint8(kind))] }

// bar makes the lines from point to point an obstacle.
func (r *room) bar(points []geom.Point, kind obstacle) {
	for i := 1; i < len(points); i++ {
		r.lines = append(r.lines, barred{points[i-1], points[i], kind})
	}
	r.cells(kind).Stroke(points, 0)
	r.summed = 0
}

// barBox makes a box round a mark an obstacle.
func (r *room) barBox(b geom.Box) {
	const kind = obstacleMark
	r.lines = append(r.lines,
		barred{b.Min, b.Max, kind}, barred{geom.Pt(b.Min.X, b.Max.Y), geom.Pt(b.Max.X, b.Min.Y), kind})
	r.cells(kind).SetBox(b)
	r.summed = 0
}

// sum counts the cells that any of the obstacles touches.
func (r *room) sum(o obstacle) {
	if r.summed == o {
		return
	}
	first := r.obstacles[0]
	all := grid.New(first.Origin, first.Cell, first.W, first.H)
	for i, cells := range r.obstacles {
		if o&(1<<i) != 0 {
			all.Union(cells)
		}
	}
	r.sums, r.summed = all.Sums(1), o
}

// place returns the box of a width and height nearest to want (middle to middle)
// whose cells none of the obstacles touches.
func (r *room) place(width, height float64, want geom.Point, o obstacle) (geom.Box, bool) {
	r.sum(o)
	cell := r.obstacles[0].Cell
	w, h := int(math.Ceil(width/cell.X-1e-9)), int(math.Ceil(height/cell.Y-1e-9))
	middle, ok := r.sums.NearestRoom(w, h, want)
	half := geom.Pt(width/2, height/2)
	return geom.Box{Min: middle.Sub(half), Max: middle.Add(half)}, ok
}

// free reports whether the box with the given corners, turned or not, lies in
// the piece and touches none of the obstacles. Unlike place it is exact.
func (r *room) free(corners [4]geom.Point, o obstacle) bool {
	a, along, down := corners[0], corners[1].Sub(corners[0]), corners[3].Sub(corners[0])
	if !r.inside(a.Add(along.Add(down).Mul(0.5))) {
		return false
	}
	w, h := along.Dot(along), down.Dot(down)
	within := geom.Box{Max: geom.Pt(1, 1)}
	around := geom.BoxOf(corners[:]...)
	for _, b := range r.lines {
		if b.kind&o == 0 || !around.Overlaps(geom.BoxOf(b.from, b.to)) {
			continue
		}
		// In its own axes the box is the unit square.
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
		if b.kind != obstacleOutside || (b.from.Y <= p.Y) == (b.to.Y <= p.Y) {
			continue
		}
		if b.from.X+(p.Y-b.from.Y)/(b.to.Y-b.from.Y)*(b.to.X-b.from.X) > p.X {
			in = !in
		}
	}
	return in
}
