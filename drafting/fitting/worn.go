package fitting

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Names of the edges at which panels are cut to hang as they are worn.
const (
	centreLine = "centre_line"
	rollLine   = "roll_line"
)

// closedFront returns a piece that overlaps another at its centre line without what
// lies beyond that: buttoned, both meet there. Where a lapel or a shawl turns back, the
// piece ends at the roll line, down to which the front is open.
func closedFront(p pattern.Piece) pattern.Piece {
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == "centre" || l.Name == "centre_front" })
	if p.HasFold() {
		return p
	}
	if i < 0 {
		return meeting(p)
	}
	inside := p.Lines[i].Path.ClipTo(p.Outline())
	if len(inside) == 0 {
		return p
	}
	path := slices.MaxFunc(inside, func(a, b geom.Path) int { return cmp.Compare(a.Length(), b.Length()) })
	if path.Start().Y < path.End().Y {
		path = path.Reverse() // from the hem up
	}
	closed := path.Length()
	if roll := rollOf(p); roll != nil {
		crossings := path.Crossings(roll)
		if len(crossings) == 0 {
			return p
		}
		below, _ := path.SplitAt(crossings[0].A)
		_, above := roll.SplitAt(crossings[0].B)
		path, closed = geom.Join(below, above), below.Length()
	}
	part, ok := larger(p, path, centreLine)
	if !ok {
		return p // it does not cross the piece
	}
	k := part.EdgeIndex(centreLine)
	e := part.Edges[k]
	forth := e.Path.Start().Dist(path.Start()) < e.Path.End().Dist(path.Start())
	e.Role = pattern.RoleFold
	if closed > e.Path.Length()-1 {
		part.Edges[k] = e
		return part
	}
	open := pattern.Edge{Name: rollLine, Run: rollLine, Role: pattern.RoleNeckline}
	if forth {
		e.Path, open.Path = e.Path.SplitAt(closed)
		part.Edges = slices.Replace(slices.Clone(part.Edges), k, k+1, e, open)
	} else {
		open.Path, e.Path = e.Path.SplitAt(e.Path.Length() - closed)
		part.Edges = slices.Replace(slices.Clone(part.Edges), k, k+1, open, e)
	}
	return part
}

// leastMeeting is the length from which on an edge on the centre line is closed, mm.
const leastMeeting = 100.0

// meeting returns a piece of a front that meets its mirror image edge to edge, as over a zip,
// closed along what of that edge lies on the centre line.
func meeting(p pattern.Piece) pattern.Piece {
	if sideOf(p) != front {
		return p
	}
	for k, e := range p.Edges {
		if e.Role != pattern.RoleEdge && e.Role != pattern.RoleSeam {
			continue
		}
		path := e.Path
		atStart := math.Abs(path.Start().X) < 0.5
		if !atStart {
			path = path.Reverse()
		}
		const step = 2.0 // mm
		on := 0.0
		for on+step <= path.Length() && math.Abs(path.At(on+step).X) < 0.5 {
			on += step
		}
		if on < leastMeeting {
			continue
		}
		closed, open := e, e
		closed.Name, closed.Role = centreLine, pattern.RoleFold
		if on > path.Length()-2*step {
			p.Edges = slices.Replace(slices.Clone(p.Edges), k, k+1, closed)
			return p
		}
		if atStart {
			closed.Path, open.Path = e.Path.SplitAt(on)
			p.Edges = slices.Replace(slices.Clone(p.Edges), k, k+1, closed, open)
		} else {
			open.Path, closed.Path = e.Path.SplitAt(path.Length() - on)
			p.Edges = slices.Replace(slices.Clone(p.Edges), k, k+1, open, closed)
		}
		return p
	}
	return p
}

// rollOf returns the line on which a piece's lapel or shawl turns, from the break point up to
// the outline; nil if it has none. A shawl's roll goes on round the back of the neck: the
// front ends at the neck point.
func rollOf(p pattern.Piece) geom.Path {
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == rollLine })
	if i < 0 {
		return nil
	}
	roll := p.Lines[i].Path
	if roll.Start().Y < roll.End().Y {
		roll = roll.Reverse()
	}
	const near = 0.05 // mm
	straight := geom.Path{roll[0]}
	if _, off, _ := p.Outline().Nearest(straight.End()); off < near {
		return straight
	}
	neck := p.Edges[0].Path.Start()
	for _, e := range p.Edges {
		if corner := e.Path.Start(); corner.Dist(straight.End()) < neck.Dist(straight.End()) {
			neck = corner
		}
	}
	return geom.Join(straight, geom.Polyline(straight.End(), neck))
}

// larger cuts a piece along a path across it, and returns the larger part, whose new edge
// has the given name.
func larger(p pattern.Piece, path geom.Path, edge string) (pattern.Piece, bool) {
	parts, err := cutting.CutApart(p, path, nil, edge, [2]string{p.Name, p.Name})
	if err != nil {
		return p, false
	}
	if parts[1].Outline().Area() > parts[0].Outline().Area() {
		return parts[1], true
	}
	return parts[0], true
}

// closeVents returns the pattern with its vents as they hang at rest, closed: without their
// strips, and sewn below the seam as above it.
func closeVents(p pattern.Pattern) pattern.Pattern {
	p.Pieces, p.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	below := map[pattern.EdgeRef]pattern.EdgeRef{}
	for i, piece := range p.Pieces {
		if piece.EdgeIndex("vent_edge") < 0 {
			continue
		}
		for _, l := range piece.Lines {
			k := slices.IndexFunc(piece.Edges, func(e pattern.Edge) bool { return e.Run == l.Name })
			if k < 0 {
				continue
			}
			if part, ok := larger(piece, l.Path, l.Name+"_vent"); ok {
				p.Pieces[i] = part
				below[pattern.EdgeRef{Piece: piece.Name, Edge: piece.Edges[k].Name}] =
					pattern.EdgeRef{Piece: piece.Name, Edge: l.Name + "_vent"}
			}
		}
	}
	for _, s := range slices.Clone(p.Seams) {
		a, okA := below[s.A]
		b, okB := below[s.B]
		if okA && okB {
			p.Seams = append(p.Seams, pattern.Seam{A: a, B: b})
		}
	}
	return p
}

// layered returns the pattern without what lies under its shell. A place that no main cloth
// covers, as the back of a waistcoat, is covered by another, and of a piece that is cut
// twice on the fold the second lies under the first: what joins the two is no seam of the
// shell.
func layered(p pattern.Pattern) pattern.Pattern {
	covered := map[place]bool{}
	for _, piece := range p.Pieces {
		if plain(piece) {
			covered[sideOf(piece)] = true
		}
	}
	p.Pieces = slices.Clone(p.Pieces)
	double := map[string]bool{}
	for i, piece := range p.Pieces {
		double[piece.Name] = piece.Cut.OnFold && piece.Cut.Count > 1
		outer := piece
		outer.Cloth = ""
		side := sideOf(piece)
		if (side == front || side == back) && !covered[side] && plain(outer) {
			if double[piece.Name] {
				outer.Cut.Count = 1 // what lines the other panels is left out too
			}
			p.Pieces[i] = outer
		}
	}
	p.Seams = slices.DeleteFunc(slices.Clone(p.Seams), func(s pattern.Seam) bool {
		return s.A == s.B && double[s.A.Piece]
	})
	return p
}
