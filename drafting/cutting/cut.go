package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// CutApart cuts a piece in two along a path between two points of its outline.
// Both ends are moved to the outline if they miss it by at most FitTol. The
// first part is the one clockwise from the path's start to its end. Both have a
// new edge of the given name along the cut. Darts named in through are cut
// away; no other dart may lie across the path, except an empty one.
//
// If other is a second path, for the second part, what lies between the two
// paths is dropped, as for darts taken into a seam. If the first path starts at
// the end of a dart's mouth, the other starts at the mouth's beginning.
func CutApart(p pattern.Piece, path, other geom.Path, edge string, names [2]string,
	through ...string) ([2]pattern.Piece, error) {
	var none [2]pattern.Piece
	if other == nil {
		other = path
	}
	for _, q := range [...]geom.Path{path, other} {
		if err := pattern.CheckPath(q); err != nil {
			return none, newError(p, edge, "the cut %v", err)
		}
	}
	first, err := edgesBetween(p, path.Start(), path.End())
	if err != nil {
		return none, err
	}
	second, err := edgesBetween(p, other.End(), other.Start())
	if err != nil {
		return none, err
	}
	q := p
	q.Darts = nil
	for _, d := range p.Darts {
		if !slices.Contains(through, d.Name) {
			q.Darts = append(q.Darts, d)
		}
	}
	var parts [2]pattern.Piece
	for i, side := range [2]struct {
		edges []pattern.Edge
		along geom.Path
	}{{first, path.Reverse()}, {second, other}} {
		along := side.along.MoveStart(side.edges[len(side.edges)-1].Path.End())
		along = along.MoveEnd(side.edges[0].Path.Start())
		part := q
		part.Name = names[i]
		part.Edges = merged(append(slices.Clone(side.edges), newEdge(edge, pattern.RoleSeam, along)))
		parts[i] = cutOf(p, keepInside(part, q))
	}
	parts[1].Notches = withoutMates(parts[1], parts[0])
	return parts, crossed(q.Darts, parts, p, edge)
}

// cutOf returns a part of a piece with its cut count: two for a piece on the fold of which
// the part has none.
func cutOf(p, part pattern.Piece) pattern.Piece {
	if p.Cut.OnFold && !part.HasFold() {
		part.Cut = pattern.Cut{Count: 2 * p.Cut.Count, Pair: true} // one for each side of the fold
	}
	return part
}

// withoutMates returns the notches of a part without those at the cut itself, which the other
// part has too; one of them has its mate.
func withoutMates(part, other pattern.Piece) []pattern.Notch {
	return slices.DeleteFunc(slices.Clone(part.Notches), func(n pattern.Notch) bool {
		at := part.Run(n.Edge).At(n.At)
		return slices.ContainsFunc(other.Notches, func(m pattern.Notch) bool {
			return m.Edge == n.Edge && other.Run(m.Edge).At(m.At).Near(at, 2*pinTol)
		})
	})
}

// crossed returns an error if a dart is in neither part of a piece.
func crossed(darts []pattern.Dart, parts [2]pattern.Piece, p pattern.Piece, edge string) error {
	for _, d := range darts {
		if !d.Empty() && !slices.ContainsFunc(parts[:], func(k pattern.Piece) bool { return k.Dart(d.Name) != nil }) {
			return newError(p, edge, "the cut crosses the %s: move it to an edge on one side of the cut first, take it into "+
				"the seam (through), or close it in the part where it opens (close)", d.Name)
		}
	}
	return nil
}

// edgesBetween returns the edges clockwise from one point of the outline to
// another.
func edgesBetween(p pattern.Piece, a, b geom.Point) ([]pattern.Edge, error) {
	pa, err := PositionOf(p, a)
	if err != nil {
		return nil, err
	}
	pb, err := PositionOf(p, b)
	if err != nil {
		return nil, err
	}
	edges, _, err := splitTwo(p, pa, pb)
	if err != nil {
		return nil, err
	}
	// At a dart's mouth the place before it and the one after are the same
	// length along the run.
	for len(edges) > 1 && edges[0].Role == pattern.RoleDartMouth && !edges[0].Path.Start().Near(a, fitTol) {
		edges = edges[1:]
	}
	for len(edges) > 1 && edges[len(edges)-1].Role == pattern.RoleDartMouth &&
		!edges[len(edges)-1].Path.End().Near(b, fitTol) {
		edges = edges[:len(edges)-1]
	}
	return edges, nil
}

// PositionOf returns the position of a point on the outline.
func PositionOf(p pattern.Piece, at geom.Point) (Position, error) {
	best, found := fitTol, Position{}
	nearest := ""
	offset := pattern.MaxReach
	for _, e := range p.Edges {
		if e.Role == pattern.RoleDartMouth {
			continue
		}
		_, d, along := e.Path.Nearest(at)
		if d < offset {
			offset, nearest = d, e.Name
		}
		if d < best {
			best = d
			found = Position{e.Name, along + lengthBefore(p, e)}
		}
	}
	if found.Run == "" {
		return found, newError(p, nearest, "the point (%.1f, %.1f) lies %.1f mm off it; it must lie on the outline", at.X,
			at.Y, offset)
	}
	return found, nil
}

// lengthBefore returns the length of the run before one of its parts, mm.
func lengthBefore(p pattern.Piece, part pattern.Edge) float64 {
	var sum float64
	for _, e := range p.Edges {
		if e.Name != part.Name {
			continue
		}
		if e.Path.Start() == part.Path.Start() {
			return sum
		}
		sum += e.Path.Length()
	}
	return sum
}

// keepInside returns the part p of a piece with the darts, marks, lines and
// notches of the whole that lie on or inside its outline. A dart across the
// outline is in neither part.
func keepInside(p pattern.Piece, whole pattern.Piece) pattern.Piece {
	outline := p.Outline()
	p.Darts = nil
	for _, d := range whole.Darts {
		if p.HoldsDart(d) {
			p.Darts = append(p.Darts, d)
		}
	}
	p.Marks = nil
	for _, k := range whole.Marks {
		if outline.Contains(k.At) || onPath(outline, k.At) {
			p.Marks = append(p.Marks, k)
		}
	}
	p.Lines = nil
	for _, l := range whole.Lines {
		for _, part := range l.Path.ClipTo(outline) {
			p.Lines = append(p.Lines, pattern.Line{Name: l.Name, Path: part})
		}
	}
	p = repin(p, pinsOf(whole))
	p.Grain = fitGrain(p, whole.Grain)
	return p
}

func onPath(path geom.Path, at geom.Point) bool {
	_, d, _ := path.Nearest(at)
	return d <= nearBreak
}

// Join moves b so that its edge lies on a's, walked the other way, and joins
// the two; both edges are gone. Edges of one name that then meet are merged.
// Edges of b whose names a also has are prefixed with b's name.
func Join(a pattern.Piece, edgeA string, b pattern.Piece, edgeB string) (pattern.Piece, error) {
	ea, err := wholeEdge(a, edgeA)
	if err != nil {
		return pattern.Piece{}, err
	}
	eb, err := wholeEdge(b, edgeB)
	if err != nil {
		return pattern.Piece{}, err
	}
	if la, lb := ea.Path.Length(), eb.Path.Length(); math.Abs(la-lb) > pattern.SeamTol {
		return pattern.Piece{}, newError(a, edgeA,
			"%.1f mm long, but %s/%s is %.1f mm; edges to join must be equal within %g mm",
			la, b.Name, edgeB, lb, pattern.SeamTol)
	}
	b = b.Move(Onto(eb.Path.End(), eb.Path.Start(), ea.Path.Start(), ea.Path.End(), false))
	eb, _ = wholeEdge(b, edgeB)
	for _, q := range eb.Path.Reverse().Flatten(0.5) {
		if _, d, _ := ea.Path.Nearest(q); d > pattern.SeamTol {
			return pattern.Piece{}, newError(a, edgeA,
				"%s/%s runs %.1f mm away from it; edges to join must lie on each other within %g mm",
				b.Name, edgeB, d, pattern.SeamTol)
		}
	}
	edges := rotated(a.Edges, a.EdgeIndex(edgeA))[1:]
	more := rotated(b.Edges, b.EdgeIndex(edgeB))[1:]
	pins := pinsOf(a)
	pinsB := pinsOf(b)
	names := map[string]string{}
	for i := range more {
		e := &more[i]
		beside := i == 0 && e.Name == edges[len(edges)-1].Name || i == len(more)-1 && e.Name == edges[0].Name
		if a.EdgeIndex(e.Name) >= 0 && !beside {
			names[e.Name] = b.Name + "_" + e.Name
		}
	}
	rename := func(name string) string {
		if to, ok := names[name]; ok {
			return to
		}
		return name
	}
	q := a
	q.Edges = slices.Clone(edges)
	for _, e := range more {
		e.Name = rename(e.Name)
		e.Run = e.Name
		q.Edges = append(q.Edges, e)
	}
	// The ends meet within SeamTol.
	n := len(edges)
	q.Edges[0].Path = q.Edges[0].Path.MoveStart(q.Edges[len(q.Edges)-1].Path.End())
	q.Edges[n].Path = q.Edges[n].Path.MoveStart(q.Edges[n-1].Path.End())
	q.Edges = merged(q.Edges)
	for _, d := range b.Darts {
		d.Mouth = rename(d.Mouth)
		q.Darts = append(slices.Clip(q.Darts), d)
	}
	q.Marks = append(slices.Clip(q.Marks), b.Marks...)
	for _, l := range b.Lines {
		q.Lines = joinLine(q.Lines, l)
	}
	for _, k := range pinsB {
		k.run = rename(k.run)
		pins = append(pins, k)
	}
	return repin(q, pins), nil
}

// joinLine adds a line, merged with a line of the same name that it continues.
func joinLine(lines []pattern.Line, l pattern.Line) []pattern.Line {
	out := slices.Clone(lines)
	for i, k := range out {
		if k.Name != l.Name {
			continue
		}
		for _, way := range [...]geom.Path{l.Path, l.Path.Reverse()} {
			if k.Path.End().Near(way.Start(), pattern.SeamTol) {
				out[i].Path = geom.Join(k.Path, way.MoveStart(k.Path.End())).MergeLines()
				return out
			}
			if k.Path.Start().Near(way.End(), pattern.SeamTol) {
				out[i].Path = geom.Join(way.MoveEnd(k.Path.Start()), k.Path).MergeLines()
				return out
			}
		}
	}
	return append(out, l)
}

// wholeEdge returns the edge with the name, which no dart may cut.
func wholeEdge(p pattern.Piece, name string) (pattern.Edge, error) {
	if err := checkRun(p, name); err != nil {
		return pattern.Edge{}, err
	}
	if countParts(p, name) > 1 {
		return pattern.Edge{}, newError(p, name, "a dart opens in it: move the dart first")
	}
	return p.Edges[p.EdgeIndex(name)], nil
}
