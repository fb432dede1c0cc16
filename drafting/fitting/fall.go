package fitting

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A fall says how a panel hangs below the armpits: where its points lie down the body,
// and across the panel from the edge towards the middle to the edge towards the side.
type fall struct {
	panel       *panel
	left, right boundary // of the panel as it lies on paper
	outwards    bool     // the right boundary is the one towards the side
	top, bottom float64  // down the panel, between which both boundaries run
	first, last float64  // down the panel, its highest and its lowest point
	order       int      // of panels between the middle and the side, from the middle
	tier        int      // panels of a tier hang beside each other
}

// A boundary is one side of a panel: the edges that run down it.
type boundary struct {
	edges []string
	line  []r2.Vec // X across, Y down; by Y
}

// apexOf returns the centre of the circle of which the hem of a flared panel is a part,
// or nil if the hem turns by less than leastTurn or the panel reaches above that centre.
func apexOf(p pattern.Piece) *r2.Vec {
	const leastTurn = 0.25 // radians
	var hem geom.Path
	for _, e := range p.Edges {
		if e.Role == pattern.RoleHem {
			hem = append(hem, e.Path...)
		}
	}
	if len(hem) == 0 {
		return nil
	}
	a, b, c := hem.Start(), hem.At(hem.Length()/2), hem.End()
	chord := a.Dist(c)
	mid := a.Add(c).Mul(0.5)
	bow := b.Dist(mid)
	if turn := 8 * bow / chord; turn < leastTurn || b.Y < mid.Y {
		return nil
	}
	radius := (chord*chord/4 + bow*bow) / (2 * bow)
	centre := b.Add(mid.Sub(b).Mul(radius / bow))
	for _, q := range p.Outline().Flatten(2) {
		if q.Y < centre.Y-1 {
			return nil
		}
	}
	return &r2.Vec{X: centre.X, Y: centre.Y}
}

// down returns how far down the body a point of the paper hangs, from the level of the
// paper's y = 0: straight down the paper, or away from the apex.
func (q *panel) down(at r2.Vec) float64 {
	if q.apex == nil {
		return at.Y
	}
	return q.apex.Y + r2.Norm(r2.Sub(at, *q.apex))
}

// aside returns how far to the right on paper a point lies, mm, or as an angle about the
// apex.
func (q *panel) aside(at r2.Vec) float64 {
	if q.apex == nil {
		return at.X
	}
	return math.Atan2(at.X-q.apex.X, at.Y-q.apex.Y)
}

// wide returns the length of a unit of aside at a place down the panel.
func (q *panel) wide(down float64) float64 {
	if q.apex == nil {
		return 1
	}
	return max(0, down-q.apex.Y)
}

// spread returns the points of an edge: X aside, Y down.
func (q *panel) spread(e pattern.Edge) (line []r2.Vec) {
	for _, p := range e.Path.Flatten(1) {
		at := r2.Vec{X: p.X, Y: p.Y}
		line = append(line, r2.Vec{X: q.aside(at), Y: q.down(at)})
	}
	return line
}

// runsDown reports whether an edge of the panel runs down rather than across it.
func (q *panel) runsDown(e pattern.Edge) bool {
	switch e.Role {
	case pattern.RoleHem, pattern.RoleArmhole, pattern.RoleNeckline, pattern.RoleDartMouth:
		return false
	}
	line := q.spread(e)
	from, to := line[0], line[len(line)-1]
	return math.Abs(to.Y-from.Y) > q.wide((from.Y+to.Y)/2)*math.Abs(to.X-from.X)
}

// newFall returns the fall of a panel, its place among the others still unknown.
func newFall(q *panel) *fall {
	f := &fall{panel: q}
	for _, e := range q.Edges {
		switch e.Role {
		case pattern.RoleHem, pattern.RoleArmhole, pattern.RoleNeckline, pattern.RoleDartMouth:
			continue
		}
		if !q.runsDown(e) || q.under() && e.Name == legOpening {
			continue
		}
		line := q.spread(e)
		to := &f.left // an outline runs clockwise: up its left side
		if line[len(line)-1].Y > line[0].Y {
			to = &f.right
		}
		to.edges = append(to.edges, e.Name)
		to.line = append(to.line, line...)
	}
	f.top, f.bottom = math.Inf(-1), math.Inf(1)
	for _, b := range []*boundary{&f.left, &f.right} {
		slices.SortStableFunc(b.line, func(a, b r2.Vec) int { return cmp.Compare(a.Y, b.Y) })
		if len(b.line) > 0 {
			f.top, f.bottom = max(f.top, b.line[0].Y), min(f.bottom, b.line[len(b.line)-1].Y)
		}
	}
	f.first, f.last = math.Inf(1), math.Inf(-1)
	for _, p := range q.Outline().Flatten(1) {
		down := q.down(r2.Vec{X: p.X, Y: p.Y})
		f.first, f.last = min(f.first, down), max(f.last, down)
	}
	f.outwards = f.mean() >= 0
	return f
}

// at returns how far aside the boundary lies at a place down the panel.
func (b *boundary) at(down float64) float64 {
	i, _ := slices.BinarySearchFunc(b.line, down, func(p r2.Vec, y float64) int { return cmp.Compare(p.Y, y) })
	switch {
	case len(b.line) == 0:
		return 0
	case i == 0:
		return b.line[0].X
	case i == len(b.line):
		return b.line[i-1].X
	}
	p, q := b.line[i-1], b.line[i]
	return p.X + (down-p.Y)/max(1e-9, q.Y-p.Y)*(q.X-p.X)
}

// mean returns how far aside the middle of the panel lies.
func (f *fall) mean() float64 {
	var sum, n float64
	for _, b := range []*boundary{&f.left, &f.right} {
		for _, p := range b.line {
			sum, n = sum+p.X, n+1
		}
	}
	return sum / max(1, n)
}

// width returns the width that the panel takes up, mm, at a place down it, or at the nearest
// where both boundaries run.
func (f *fall) width(down float64) float64 {
	d := f.within(down)
	low, high := f.left.at(d), f.right.at(d)
	width := f.panel.wide(d) * max(0, high-low)
	if f.panel.apex == nil {
		fullness, _ := f.panel.fullness(r2.Vec{X: (low + high) / 2, Y: down})
		width /= fullness
	}
	return width
}

func (f *fall) within(down float64) float64 {
	if f.top >= f.bottom {
		return down
	}
	return max(f.top, min(f.bottom, down))
}

// share returns how far across the panel a point lies: 0 at the edge towards the middle
// of the body, 1 at that towards the side.
func (f *fall) share(at r2.Vec) float64 {
	d := f.within(f.panel.down(at))
	low, high := f.left.at(d), f.right.at(d)
	s := max(0, min(1, (f.panel.aside(at)-low)/max(1e-9, high-low)))
	if !f.outwards {
		s = 1 - s
	}
	return s
}

// outer returns the boundary towards the side.
func (f *fall) outer() *boundary {
	if f.outwards {
		return &f.right
	}
	return &f.left
}

// fallsOf returns the falls of panels that seams join, each in its place round the body.
func fallsOf(panels []*panel, seams []pattern.Seam) map[*panel]*fall {
	all := map[*panel]*fall{}
	byName := map[string]*fall{}
	var list []*fall
	for i, q := range panels {
		f := newFall(q)
		f.tier = i
		all[q], byName[q.Name] = f, f
		list = append(list, f)
	}
	tiers(list, byName, seams)
	order(list, byName, seams)
	return all
}

// has reports whether an edge is one of the boundary.
func (b *boundary) has(edge string) bool { return slices.Contains(b.edges, edge) }

// tiers puts panels that are sewn side to side in one tier.
func tiers(list []*fall, byName map[string]*fall, seams []pattern.Seam) {
	for range list {
		for _, s := range seams {
			a, b := byName[s.A.Piece], byName[s.B.Piece]
			if a != nil && b != nil && a.bounds(s.A.Edge) && b.bounds(s.B.Edge) {
				a.tier, b.tier = min(a.tier, b.tier), min(a.tier, b.tier)
			}
		}
	}
}

// order numbers the panels of front and back by their seams, from the middle to the
// side, and finds which of their boundaries is towards the side.
func order(list []*fall, byName map[string]*fall, seams []pattern.Seam) {
	seen := map[*fall]bool{}
	var queue []*fall
	for _, f := range list {
		if f.panel.whole { // from the middle of the front to that of the back
			f.outwards = !f.panel.innerHigh()
		} else if edge, ok := f.middle(seams); ok {
			f.outwards = f.left.has(edge)
			seen[f] = true
			queue = append(queue, f)
		}
	}
	type pair struct{ inner, outer *fall }
	var beside []pair
	for len(queue) > 0 {
		f := queue[0]
		queue = queue[1:]
		for _, s := range seams {
			for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
				g := byName[way[1].Piece]
				if way[0].Piece != f.panel.Name || !f.outer().has(way[0].Edge) || g == nil || g == f ||
					g.panel.where != f.panel.where || !g.bounds(way[1].Edge) {
					continue
				}
				beside = append(beside, pair{f, g})
				if !seen[g] {
					g.outwards = g.left.has(way[1].Edge)
					seen[g] = true
					queue = append(queue, g)
				}
			}
		}
	}
	for range list {
		for _, p := range beside {
			p.outer.order = max(p.outer.order, p.inner.order+1)
		}
	}
}

// middle returns an edge of the panel that runs down the middle of the body: a fold, or
// one that is sewn to its mirror image.
func (f *fall) middle(seams []pattern.Seam) (edge string, ok bool) {
	for _, e := range f.panel.Edges {
		ref := pattern.EdgeRef{Piece: f.panel.Name, Edge: e.Name}
		mirrored := slices.ContainsFunc(seams, func(s pattern.Seam) bool { return s.A == ref && s.B == ref })
		if (e.Role == pattern.RoleFold || mirrored) && f.bounds(e.Name) {
			return e.Name, true
		}
	}
	return "", false
}

// bounds reports whether an edge runs down the panel at its left or right.
func (f *fall) bounds(edge string) bool { return f.left.has(edge) || f.right.has(edge) }
