package fitting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/drape/trimesh"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// place is where on the body a panel hangs.
type place int

const (
	nowhere place = iota
	front
	back
	sleeve
)

// String returns the place as a cutter calls it.
func (p place) String() string { return [...]string{"nowhere", "front", "back", "sleeve"}[p] }

// A panel is a piece of the garment's shell, divided into triangles.
type panel struct {
	pattern.Piece
	where place
	level float64      // height above the floor of the paper's y = 0, mm
	bust  float64      // the same by the bust line alone; 0 without one
	leg   bool         // part of a leg
	whole bool         // round the leg in one piece
	ring  *ring        // of a sleeve
	cuff  bool         // at the end of a sleeve
	flat  []geom.Point // the outline, for span
	apex  *r2.Vec      // the centre of the circle that a flared panel is cut from; nil if it hangs straight down the paper

	gathers   []gather
	points    []r2.Vec // on paper: y down
	triangles [][3]int
	edges     map[string][]int // points along each edge from its start to its end
	darts     [][2][]int       // points along both legs of each dart
	stops     map[string][]stop
	first     int // number of its first point in the mesh
}

// shell returns the panels that make the garment's shell, and the names of the
// pieces that do not: sleeves, facings, linings, bands and what is sewn on.
// shown holds the names of pockets' layers of which the visible part is on the pattern, closed
// those of cuffs that are.
func shell(p pattern.Pattern, shown, closed map[string]bool, waist, bust, hip float64) (
	panels []*panel, left []string,
) {
	known := map[string]*panel{}
	for _, piece := range p.Pieces {
		if !plain(piece) {
			continue
		}
		q := newPanel(piece)
		if q.where = sideOf(piece); q.whole {
			q.where = front
		}
		for _, l := range piece.Lines {
			y := l.Path.Start().Y
			switch l.Name {
			case "waist":
				q.level = waist + y
			case "bust":
				q.bust = bust + y
				if q.level == 0 {
					q.level = q.bust
				}
			case "hip":
				if q.level == 0 {
					q.level = hip + y
				}
			}
		}
		if q.level != 0 && (q.where == front || q.where == back) {
			known[piece.Name] = q
		}
	}
	for range p.Pieces { // what hangs on a known panel is known
		for _, s := range p.Seams {
			beside(p, known, shown, s.A, s.B)
			beside(p, known, shown, s.B, s.A)
		}
	}
	sleeves(p, known)
	cuffs(p, known, closed)
	for _, piece := range p.Pieces {
		if q := known[piece.Name]; q != nil {
			panels = append(panels, q)
		} else {
			left = append(left, piece.Name)
		}
	}
	return panels, left
}

// newPanel returns the panel of a piece, closed in the middle if it buttons there.
func newPanel(piece pattern.Piece) *panel {
	q := &panel{Piece: closedFront(piece), edges: map[string][]int{}, stops: map[string][]stop{}}
	q.whole = piece.RunLength("crotch_front") > 0 && piece.RunLength("crotch_back") > 0
	q.leg = q.whole || slices.ContainsFunc(piece.Edges, func(e pattern.Edge) bool { return e.Run == "inseam" })
	if !q.armhole() && !q.leg {
		q.apex = apexOf(q.Piece)
	}
	return q
}

// besides are words in the names of pieces that lie under the shell or on it.
var besides = []string{"facing", "band", "shield", "pocket", "loop", "placket", "cuff", "collar", "stand", "belt",
	"hood", "lining", "strap"}

// plain reports whether a piece is of the main cloth and may be part of the shell.
func plain(p pattern.Piece) bool {
	return p.Cloth == "" && !slices.ContainsFunc(besides, func(word string) bool { return strings.Contains(p.Name, word) })
}

// sideOf returns where a piece hangs by its edges and its name.
func sideOf(p pattern.Piece) place {
	for _, e := range p.Edges {
		if e.Role == pattern.RoleCap {
			return sleeve
		}
	}
	switch {
	case strings.Contains(p.Name, "front"):
		return front
	case strings.Contains(p.Name, "back"):
		return back
	}
	return nowhere
}

// beside makes the piece of edge b known if that of edge a is: where both edges
// lie at one place of the paper it hangs in the same frame, where b is sewn to a's
// lower edge it hangs from there, and where both edges run down it hangs beside a.
func beside(p pattern.Pattern, known map[string]*panel, shown map[string]bool, a, b pattern.EdgeRef) {
	up := known[a.Piece]
	if up == nil || known[b.Piece] != nil {
		return
	}
	piece, ok := p.Piece(b.Piece)
	if !ok || sideOf(piece) == sleeve {
		return
	}
	ea, okA := up.Edge(a.Edge)
	eb, okB := piece.Edge(b.Edge)
	if !okA || !okB {
		return
	}
	q := newPanel(piece)
	side, whole := sideOf(piece), cutOff(piece, ea, eb)
	if q.jersey() {
		q.onTop(up, ea, eb, known)
		return
	}
	if !plain(piece) && !shown[piece.Name] && !whole {
		return
	}
	q.where, q.level = up.where, up.level
	middle := func(e pattern.Edge) geom.Point { return e.Path.At(e.Path.Length() / 2) }
	switch ma, mb := middle(ea), middle(eb); {
	case whole || ma.Dist(mb) < 30:
	case up.runsAcross(ea, lower) && q.runsAcross(eb, upper):
		q.level = up.level - ma.Y + mb.Y
		if side != nowhere {
			q.where = side
		}
	case up.runsDown(ea) && q.runsDown(eb) && math.Abs(ea.Path.Length()/eb.Path.Length()-1) < 0.05:
		at := func(p geom.Point) r2.Vec { return r2.Vec{X: p.X, Y: p.Y} }
		q.level = up.level - up.down(at(middle(ea))) + q.down(at(middle(eb)))
		if side != nowhere {
			q.where = side
		}
	default:
		return
	}
	known[b.Piece] = q
}

// cutOff reports whether a piece is a band that was cut off a front or a back along an edge and
// lies where it was cut: it makes that whole.
func cutOff(piece pattern.Piece, from, edge pattern.Edge) bool {
	const near = 1.0 // mm
	side := sideOf(piece)
	return (side == front || side == back) && strings.HasPrefix(piece.Name, "band") &&
		from.Path.Start().Dist(edge.Path.End()) < near && from.Path.End().Dist(edge.Path.Start()) < near
}

// The halves of a panel.
const (
	lower = false
	upper = true
)

// runsAcross reports whether an edge runs across the upper or the lower half of the panel.
func (q *panel) runsAcross(e pattern.Edge, half bool) bool {
	down := func(p geom.Point) float64 { return q.down(r2.Vec{X: p.X, Y: p.Y}) }
	top, bottom := math.Inf(1), math.Inf(-1)
	for _, p := range q.Outline().Flatten(2) {
		top, bottom = min(top, down(p)), max(bottom, down(p))
	}
	middle := down(e.Path.At(e.Path.Length() / 2))
	return !q.runsDown(e) && (middle < (top+bottom)/2) == half
}

// divide fills the panel with triangles, its edges divided into counts parts.
func (q *panel) divide(counts map[pattern.EdgeRef]int, size float64) error {
	order := q.outline(counts, size)
	loops := [][]r2.Vec{q.at(order)}
	for _, d := range q.Darts {
		if d.Mouth != "" || len(d.Apexes) != 2 || d.Intake() < leastIntake {
			continue
		}
		hole := q.hole(d, size)
		loops = append(loops, q.at(hole))
		order = append(order, hole...)
	}
	return q.fill(loops, order, size)
}

// leastIntake is the width, mm, below which a dart inside a piece is not sewn.
const leastIntake = 2.0

// outline adds the points of the outline, with darts from the edge cut out, and
// returns their numbers.
func (q *panel) outline(counts map[pattern.EdgeRef]int, size float64) (loop []int) {
	start := q.add(q.Edges[0].Path.Start())
	at := start
	for _, e := range q.Edges {
		var line []int
		if d := q.dartAt(e.Name); d != nil && len(d.Apexes) > 0 {
			n := parts(d.Legs[0].Length(), size)
			one := q.along(d.Legs[0], nil, at, n)
			other := q.along(d.Legs[1].Reverse(), nil, one[n], n)
			line = append(slices.Clone(one), other[1:]...)
			slices.Reverse(other)
			q.darts = append(q.darts, [2][]int{one, other})
		} else {
			line = q.along(e.Path, q.stops[e.Name], at, counts[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}])
			q.edges[e.Name] = line
		}
		at = line[len(line)-1]
		loop = append(loop, line[:len(line)-1]...)
	}
	q.close(at, start)
	return loop
}

// close makes the last point of the outline its first.
func (q *panel) close(last, start int) {
	q.points = q.points[:last]
	replace := func(line []int) {
		for i, p := range line {
			if p == last {
				line[i] = start
			}
		}
	}
	for _, line := range q.edges {
		replace(line)
	}
	for _, d := range q.darts {
		replace(d[0])
		replace(d[1])
	}
}

// hole adds the points of a dart inside the piece, and returns their numbers.
func (q *panel) hole(d pattern.Dart, size float64) []int {
	n := parts(d.Legs[0].Length(), size)
	one := q.along(d.Legs[0], nil, q.add(d.Legs[0].Start()), n)
	other := q.along(d.Legs[1], nil, one[0], n)
	q.points = q.points[:other[n]] // both legs end at one point
	other[n] = one[n]
	q.darts = append(q.darts, [2][]int{one, other})
	hole := slices.Clone(one)
	for i := n - 1; i > 0; i-- {
		hole = append(hole, other[i])
	}
	return hole
}

func (q *panel) add(p geom.Point) int {
	q.points = append(q.points, r2.Vec{X: p.X, Y: p.Y})
	return len(q.points) - 1
}

// along adds n points of a path after its start, which is point from: evenly between its
// stops.
func (q *panel) along(path geom.Path, stops []stop, from, n int) []int {
	line := []int{from}
	before := stop{}
	for _, next := range append(slices.Clone(stops), stop{n, path.Length()}) {
		for i := before.part + 1; i <= next.part; i++ {
			share := float64(i-before.part) / float64(next.part-before.part)
			line = append(line, q.add(path.At(before.at+share*(next.at-before.at))))
		}
		before = next
	}
	return line
}

// fill divides the region within the loops, whose points have the numbers of
// order.
func (q *panel) fill(loops [][]r2.Vec, order []int, size float64) error {
	points, triangles, err := trimesh.Fill(loops, size)
	if err != nil {
		return fmt.Errorf("fitting: piece %s: %w", q.Name, err)
	}
	number := slices.Clone(order)
	for _, p := range points[len(order):] {
		number = append(number, len(q.points))
		q.points = append(q.points, p)
	}
	for _, t := range triangles {
		// Fill winds counterclockwise with y up; on paper y points down.
		q.triangles = append(q.triangles, [3]int{number[t[0]], number[t[2]], number[t[1]]})
	}
	return nil
}

func (q *panel) at(loop []int) []r2.Vec {
	points := make([]r2.Vec, len(loop))
	for i, p := range loop {
		points[i] = q.points[p]
	}
	return points
}

// dartAt returns the dart whose mouth is the edge.
func (q *panel) dartAt(edge string) *pattern.Dart {
	for i := range q.Darts {
		if q.Darts[i].Mouth == edge {
			return &q.Darts[i]
		}
	}
	return nil
}

// parts returns into how many parts a length is divided.
func parts(length, size float64) int { return max(1, int(math.Round(length/size))) }

// warp returns the direction of the grain, upwards, on paper with y up.
func (q *panel) warp() r2.Vec {
	a, b := q.Grain.P0, q.Grain.P3
	d := r2.Vec{X: a.X - b.X, Y: b.Y - a.Y}
	if r2.Norm(d) < 1 {
		return r2.Vec{Y: 1}
	}
	if d.Y < 0 {
		d = r2.Scale(-1, d)
	}
	return r2.Unit(d)
}

// armhole reports whether the panel reaches to the arms.
func (q *panel) armhole() bool {
	return slices.ContainsFunc(q.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleArmhole })
}

// shouldered reports whether the panel lies on the shoulder.
func (q *panel) shouldered() bool {
	return slices.ContainsFunc(q.Edges, func(e pattern.Edge) bool { return e.Run == "shoulder" })
}

// across returns how far a point lies from the middle of the body, on paper: from the
// line x = 0, or in a leg from its centre seam and inside seam.
func (q *panel) across(at r2.Vec) float64 {
	if !q.leg {
		return math.Abs(at.X)
	}
	low, high := q.span(at.Y)
	if q.innerHigh() {
		return max(0, high-at.X)
	}
	return max(0, at.X-low)
}

// innerHigh reports whether the inside seam of a leg, of one in one piece that of its front,
// is on the side of greater x.
func (q *panel) innerHigh() bool {
	if q.whole {
		return q.Run("crotch_front").Start().X > q.Run("crotch_back").Start().X
	}
	var inner, outer float64
	for _, e := range q.Edges {
		switch e.Run {
		case "inseam":
			inner = e.Path.At(e.Path.Length() / 2).X
		case "side":
			outer = e.Path.At(e.Path.Length() / 2).X
		}
	}
	return inner > outer
}

// span returns the least and greatest x of the outline at a height of the paper, of the
// nearest one that the outline has.
func (q *panel) span(y float64) (low, high float64) {
	if q.flat == nil {
		q.flat = q.Outline().Flatten(2)
	}
	top, bottom := math.Inf(1), math.Inf(-1)
	for _, p := range q.flat {
		top, bottom = min(top, p.Y), max(bottom, p.Y)
	}
	y = max(top+1, min(bottom-1, y))
	low, high = math.Inf(1), math.Inf(-1)
	for i, a := range q.flat {
		b := q.flat[(i+1)%len(q.flat)]
		if (a.Y > y) == (b.Y > y) {
			continue
		}
		x := a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X)
		low, high = min(low, x), max(high, x)
	}
	return low, high
}
