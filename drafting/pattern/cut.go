package pattern

import (
	"slices"

	"tapeline/drafting/geom"
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
func CutApart(p Piece, path, other geom.Path, edge string, names [2]string, through ...string) ([2]Piece, error) {
	var none [2]Piece
	if other == nil {
		other = path
	}
	for _, q := range [...]geom.Path{path, other} {
		if why := checkPath(q); why != "" {
			return none, p.fail(edge, "the cut %s", why)
		}
	}
	first, err := p.between(path.Start(), path.End())
	if err != nil {
		return none, err
	}
	second, err := p.between(other.End(), other.Start())
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
	var parts [2]Piece
	for i, side := range [2]struct {
		edges []Edge
		along geom.Path
	}{{first, path.Reverse()}, {second, other}} {
		along := startingAt(side.along, side.edges[len(side.edges)-1].Path.End())
		along = endingAt(along, side.edges[0].Path.Start())
		part := q
		part.Name = names[i]
		part.Edges = merged(append(slices.Clone(side.edges), newEdge(edge, RoleSeam, along)))
		if part, err = part.keepInside(q); err != nil {
			return none, err
		}
		if fold := func(e Edge) bool { return e.Role == RoleFold }; p.Cut.OnFold && !slices.ContainsFunc(part.Edges, fold) {
			part.Cut = Cut{Count: 2 * p.Cut.Count, Pair: true} // one for each side of the fold
		}
		parts[i] = part
	}
	// A notch at the cut itself lies on both; one of them has its mate.
	parts[1].Notches = slices.DeleteFunc(parts[1].Notches, func(n Notch) bool {
		at := parts[1].Run(n.Edge).At(n.At)
		return slices.ContainsFunc(parts[0].Notches, func(m Notch) bool {
			return m.Edge == n.Edge && parts[0].Run(m.Edge).At(m.At).Near(at, 2*pinTol)
		})
	})
	for _, d := range q.Darts {
		if !slices.ContainsFunc(parts[:], func(k Piece) bool { return k.dart(d.Name) != nil }) {
			return none, p.fail(edge, "the cut crosses the %s", d.Name)
		}
	}
	return parts, nil
}

// between is the edges clockwise from one point of the outline to another.
func (p Piece) between(a, b geom.Point) ([]Edge, error) {
	pa, err := p.PlaceOf(a)
	if err != nil {
		return nil, err
	}
	pb, err := p.PlaceOf(b)
	if err != nil {
		return nil, err
	}
	edges, _, err := p.splitTwo(pa, pb)
	if err != nil {
		return nil, err
	}
	// At a dart's mouth the place before it and the one after are the same
	// length along the run.
	for len(edges) > 1 && edges[0].Role == RoleDartMouth && !edges[0].Path.Start().Near(a, fitTol) {
		edges = edges[1:]
	}
	for len(edges) > 1 && edges[len(edges)-1].Role == RoleDartMouth && !edges[len(edges)-1].Path.End().Near(b, fitTol) {
		edges = edges[:len(edges)-1]
	}
	return edges, nil
}

// PlaceOf is where on the outline a point lies.
func (p Piece) PlaceOf(at geom.Point) (Place, error) {
	best, found := fitTol, Place{}
	nearest := ""
	least := maxReach
	for _, e := range p.Edges {
		if e.Role == RoleDartMouth {
			continue
		}
		_, d, along := e.Path.Nearest(at)
		if d < least {
			least, nearest = d, e.Name
		}
		if d < best {
			best = d
			found = Place{e.Name, along + p.before(e)}
		}
	}
	if found.Run == "" {
		return found, p.fail(nearest, "(%.1f, %.1f) lies %.1f mm off it, not on the outline", at.X, at.Y, least)
	}
	return found, nil
}

// before is the length of the run that lies before one of its parts.
func (p Piece) before(part Edge) float64 {
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
func (p Piece) keepInside(whole Piece) (Piece, error) {
	outline := p.Outline()
	p.Darts = nil
	for _, d := range whole.Darts {
		if p.holds(outline, d) {
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
		for _, part := range clipped(l.Path, outline) {
			p.Lines = append(p.Lines, Line{l.Name, part})
		}
	}
	p = p.repin(whole.pins())
	p.Grain = p.fitGrain(whole.Grain)
	return p, nil
}

func onPath(path geom.Path, at geom.Point) bool {
	_, d, _ := path.Nearest(at)
	return d <= nearBreak
}

func (p Piece) dart(name string) *Dart {
	for i := range p.Darts {
		if p.Darts[i].Name == name {
			return &p.Darts[i]
		}
	}
	return nil
}

// holds reports whether a dart lies in the outline, with its mouth among the
// piece's edges if it has one.
func (p Piece) holds(outline geom.Path, d Dart) bool {
	if d.Mouth != "" && p.edgeIndex(d.Mouth) < 0 {
		return false
	}
	for _, a := range d.Apexes {
		if !outline.Contains(a) && !onPath(outline, a) {
			return false
		}
	}
	for _, leg := range d.Legs {
		for _, s := range leg {
			if m := s.At(0.5); !outline.Contains(m) && !onPath(outline, m) {
				return false
			}
		}
	}
	return true
}

// clipped are the parts of a line that lie inside an outline.
func clipped(line, outline geom.Path) []geom.Path {
	var cuts []float64
	for _, c := range line.Crossings(outline) {
		cuts = append(cuts, c.A)
	}
	slices.Sort(cuts)
	n := line.Length()
	cuts = append(cuts, n)
	var parts []geom.Path
	from := 0.0
	for _, to := range cuts {
		if to-from < nearBreak {
			continue
		}
		if outline.Contains(line.At((from + to) / 2)) {
			part := line.Part(from, to)
			if k := len(parts); k > 0 && parts[k-1].End().Near(part.Start(), nearBreak) {
				parts[k-1] = tidy(geom.Join(parts[k-1], part))
			} else {
				parts = append(parts, part)
			}
		}
		from = to
	}
	return parts
}

// fitGrain is the grain line in its direction, where it is if it lies in the
// piece, or else along the longest run through the middle.
func (p Piece) fitGrain(g geom.Segment) geom.Segment {
	outline := p.Outline()
	if g.P0 != g.P3 && outline.Contains(g.P0) && outline.Contains(g.P3) && len(geom.Path{g}.Crossings(outline)) == 0 {
		return g
	}
	u := g.P3.Sub(g.P0).Unit()
	if u == (geom.Point{}) {
		u = geom.Pt(0, 1)
	}
	box := outline.Bounds()
	reach := box.Width() + box.Height()
	best := geom.Segment{}
	for _, f := range [...]float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8} {
		across := u.Left()
		lo, hi := spanAlong(outline, across)
		at := box.Centre()
		at = at.Add(across.Mul(lo + f*(hi-lo) - at.Dot(across)))
		line := geom.Path{geom.Line(at.Sub(u.Mul(reach)), at.Add(u.Mul(reach)))}
		for _, run := range clipped(line, outline) {
			if s := run[0]; s.Length() > 1.15*best.Length() {
				best = s
			}
		}
	}
	if best.P0 == best.P3 {
		return g
	}
	n := best.Length()
	in := max(0.15*n, (n-400)/2)
	return geom.Line(best.At(in/n), best.At(1-in/n))
}

// spanAlong is from where to where an outline reaches in a direction.
func spanAlong(outline geom.Path, u geom.Point) (lo, hi float64) {
	lo, hi = maxReach, -maxReach
	for _, q := range outline.Flatten(1) {
		d := q.Dot(u)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}

// joinTol is by how much in mm two edges may differ in length or course and
// still be joined into one piece.
const joinTol = 0.5

// Join joins b to a: b is moved so that its edge lies on a's, walked the other
// way, and both edges are gone. Edges of one name that then meet become one.
// Edges of b whose names a has already take b's name in front.
func Join(a Piece, edgeA string, b Piece, edgeB string) (Piece, error) {
	ea, err := a.wholeEdge(edgeA)
	if err != nil {
		return Piece{}, err
	}
	eb, err := b.wholeEdge(edgeB)
	if err != nil {
		return Piece{}, err
	}
	if la, lb := ea.Path.Length(), eb.Path.Length(); abs(la-lb) > joinTol {
		return Piece{}, a.fail(edgeA, "it is %.1f mm long, %s/%s %.1f mm: they can't be joined into one", la, b.Name, edgeB, lb)
	}
	b = b.Move(Onto(eb.Path.End(), eb.Path.Start(), ea.Path.Start(), ea.Path.End(), false))
	eb, _ = b.wholeEdge(edgeB)
	for _, q := range eb.Path.Reverse().Flatten(0.5) {
		if _, d, _ := ea.Path.Nearest(q); d > joinTol {
			return Piece{}, a.fail(edgeA, "%s/%s runs %.1f mm away from it: they can't be joined into one", b.Name, edgeB, d)
		}
	}
	edges := rotated(a.Edges, a.edgeIndex(edgeA))[1:]
	more := rotated(b.Edges, b.edgeIndex(edgeB))[1:]
	pins := a.pins()
	pinsB := b.pins()
	names := map[string]string{}
	for i := range more {
		e := &more[i]
		beside := i == 0 && e.Name == edges[len(edges)-1].Name || i == len(more)-1 && e.Name == edges[0].Name
		if a.edgeIndex(e.Name) >= 0 && !beside {
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
	q.Edges[0].Path = startingAt(q.Edges[0].Path, q.Edges[len(q.Edges)-1].Path.End())
	q.Edges[n].Path = startingAt(q.Edges[n].Path, q.Edges[n-1].Path.End())
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
	return q.repin(pins), nil
}

// joinLine adds a line, as one with a line of the same name that it carries on.
func joinLine(lines []Line, l Line) []Line {
	out := slices.Clone(lines)
	for i, k := range out {
		if k.Name != l.Name {
			continue
		}
		for _, way := range [...]geom.Path{l.Path, l.Path.Reverse()} {
			if k.Path.End().Near(way.Start(), joinTol) {
				out[i].Path = tidy(geom.Join(k.Path, startingAt(way, k.Path.End())))
				return out
			}
			if k.Path.Start().Near(way.End(), joinTol) {
				out[i].Path = tidy(geom.Join(endingAt(way, k.Path.Start()), k.Path))
				return out
			}
		}
	}
	return append(out, l)
}

// wholeEdge is the one edge of that name, not cut by a dart.
func (p Piece) wholeEdge(name string) (Edge, error) {
	if err := p.checkRun(name); err != nil {
		return Edge{}, err
	}
	if p.partsOf(name) > 1 {
		return Edge{}, p.fail(name, "a dart opens in it; move the dart first")
	}
	return p.Edges[p.edgeIndex(name)], nil
}
