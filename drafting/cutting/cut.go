package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// CutApart cuts a piece in two along a path that runs from a place on its outline
// to another; both ends are carried on straight, or cut back, by a hair where
// they miss it. The first part is the one clockwise from the path's start to
// its end. Both have a new edge of the given name along the cut. Darts named
// in through are cut away; no other may lie across the path.
//
// With another path for the second part, what lies between the two falls
// away: darts taken into a seam. Where the first path starts at the end of a
// dart's mouth the other starts at its beginning.
func CutApart(p pattern.Piece, path, other geom.Path, edge string, names [2]string, through ...string) ([2]pattern.Piece, error) {
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
		if part, err = keepInside(part, q); err != nil {
			return none, err
		}
		if fold := func(e pattern.Edge) bool { return e.Role == pattern.RoleFold }; p.Cut.OnFold && !slices.ContainsFunc(part.Edges, fold) {
			part.Cut = pattern.Cut{Count: 2 * p.Cut.Count, Pair: true} // one for each side of the fold
		}
		parts[i] = part
	}
	// A notch at the cut itself lies on both; one of them has its mate.
	parts[1].Notches = slices.DeleteFunc(parts[1].Notches, func(n pattern.Notch) bool {
		at := parts[1].Run(n.Edge).At(n.At)
		return slices.ContainsFunc(parts[0].Notches, func(m pattern.Notch) bool {
			return m.Edge == n.Edge && parts[0].Run(m.Edge).At(m.At).Near(at, 2*pinTol)
		})
	})
	for _, d := range q.Darts {
		if !slices.ContainsFunc(parts[:], func(k pattern.Piece) bool { return k.Dart(d.Name) != nil }) {
			return none, newError(p, edge, "the cut crosses the %s", d.Name)
		}
	}
	return parts, nil
}

// between is the edges clockwise from one point of the outline to another.
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
	for len(edges) > 1 && edges[len(edges)-1].Role == pattern.RoleDartMouth && !edges[len(edges)-1].Path.End().Near(b, fitTol) {
		edges = edges[:len(edges)-1]
	}
	return edges, nil
}

// PlaceOf is where on the outline a point lies.
func PositionOf(p pattern.Piece, at geom.Point) (Position, error) {
	best, found := fitTol, Position{}
	nearest := ""
	least := pattern.MaxReach
	for _, e := range p.Edges {
		if e.Role == pattern.RoleDartMouth {
			continue
		}
		_, d, along := e.Path.Nearest(at)
		if d < least {
			least, nearest = d, e.Name
		}
		if d < best {
			best = d
			found = Position{e.Name, along + lengthBefore(p, e)}
		}
	}
	if found.Run == "" {
		return found, newError(p, nearest, "(%.1f, %.1f) lies %.1f mm off it, not on the outline", at.X, at.Y, least)
	}
	return found, nil
}

// before is the length of the run that lies before one of its parts.
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

// keepInside keeps of a piece's darts, marks, lines and notches what lies on
// or inside its outline, as it was in the whole piece. A dart across the
// outline stays with neither part.
func keepInside(p pattern.Piece, whole pattern.Piece) (pattern.Piece, error) {
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
	return p, nil
}

func onPath(path geom.Path, at geom.Point) bool {
	_, d, _ := path.Nearest(at)
	return d <= nearBreak
}

// joinTol is by how much in mm two edges may differ in length or course and
// still be joined into one piece.
const joinTol = 0.5

// Join joins b to a: b is moved so that its edge lies on a's, walked the other
// way, and both edges are gone. Edges of one name that then meet become one.
// Edges of b whose names a has already take b's name in front.
func Join(a pattern.Piece, edgeA string, b pattern.Piece, edgeB string) (pattern.Piece, error) {
	ea, err := wholeEdge(a, edgeA)
	if err != nil {
		return pattern.Piece{}, err
	}
	eb, err := wholeEdge(b, edgeB)
	if err != nil {
		return pattern.Piece{}, err
	}
	if la, lb := ea.Path.Length(), eb.Path.Length(); abs(la-lb) > joinTol {
		return pattern.Piece{}, newError(a, edgeA, "it is %.1f mm long, %s/%s %.1f mm: they can't be joined into one", la, b.Name, edgeB, lb)
	}
	b = b.Move(Onto(eb.Path.End(), eb.Path.Start(), ea.Path.Start(), ea.Path.End(), false))
	eb, _ = wholeEdge(b, edgeB)
	for _, q := range eb.Path.Reverse().Flatten(0.5) {
		if _, d, _ := ea.Path.Nearest(q); d > joinTol {
			return pattern.Piece{}, newError(a, edgeA, "%s/%s runs %.1f mm away from it: they can't be joined into one", b.Name, edgeB, d)
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
	// The ends meet within joinTol; draw them together.
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

// joinLine adds a line, as one with a line of the same name that it carries on.
func joinLine(lines []pattern.Line, l pattern.Line) []pattern.Line {
	out := slices.Clone(lines)
	for i, k := range out {
		if k.Name != l.Name {
			continue
		}
		for _, way := range [...]geom.Path{l.Path, l.Path.Reverse()} {
			if k.Path.End().Near(way.Start(), joinTol) {
				out[i].Path = geom.Join(k.Path, way.MoveStart(k.Path.End())).MergeLines()
				return out
			}
			if k.Path.Start().Near(way.End(), joinTol) {
				out[i].Path = geom.Join(way.MoveEnd(k.Path.Start()), k.Path).MergeLines()
				return out
			}
		}
	}
	return append(out, l)
}

// wholeEdge is the one edge of that name, not cut by a dart.
func wholeEdge(p pattern.Piece, name string) (pattern.Edge, error) {
	if err := checkRun(p, name); err != nil {
		return pattern.Edge{}, err
	}
	if countParts(p, name) > 1 {
		return pattern.Edge{}, newError(p, name, "a dart opens in it; move the dart first")
	}
	return p.Edges[p.EdgeIndex(name)], nil
}
