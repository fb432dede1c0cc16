package cutting

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Open slashes the piece along the straight line between two positions of its
// outline and spreads the parts: by a mm at the first position and b mm at the
// second, measured straight. The part with the fold, or without a fold the part
// with the grain, stays; the other is moved. Straight lines that belong to the
// slashed edges close the gaps, so that each edge is longer by exactly what was
// asked. Neither a nor b may be negative, and no dart may lie across the slash.
func Open(p pattern.Piece, from, to Position, a, b float64) (pattern.Piece, error) {
	if !(a >= 0 && b >= 0 && a <= pattern.MaxReach && b <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, from.Run, "spread by %.1f and %.1f mm; each must be from 0 to %g mm", a, b,
			pattern.MaxReach)
	}
	if a == 0 && b == 0 {
		return p, nil
	}
	first, second, err := splitTwo(p, from, to)
	if err != nil {
		return pattern.Piece{}, err
	}
	// second[0] is the edge from to's place on; the slash runs back to from's.
	start, end := first[0].Path.Start(), second[0].Path.Start()
	u := end.Sub(start).Unit()
	slash := geom.Line(start, end)
	// The cloth of the first chain lies to the left of the slash as walked.
	movesFirst := !stays(p, first, second, slash)
	side := u.Left()
	if !movesFirst {
		side = side.Neg()
	}
	var m geom.Motion
	if math.Abs(a-b) < geom.JoinTol {
		m = geom.Shift(side.Mul(a))
	} else {
		about := start.Lerp(end, a/(a-b)) // where nothing opens
		reach := start.Dist(about)
		gap := a
		if b > a {
			reach, gap = end.Dist(about), b
		}
		if gap > 1.9*reach { // nearly turned right back
			return pattern.Piece{}, newError(p, from.Run, "a slash of %.1f mm can't open by %.1f mm", start.Dist(end), max(a, b))
		}
		m = turnBy(about, 2*math.Asin(gap/(2*reach)), start, end, side)
	}
	return movePart(p, first, second, slash, movesFirst, m, fmt.Sprintf("the slash from the %s to the %s",
		words(from.Run), words(to.Run)))
}

// turnBy returns the turn by an angle about a point that moves a slash to the
// given side.
func turnBy(about geom.Point, angle float64, start, end, side geom.Point) geom.Motion {
	m := geom.Turn(about, angle)
	at := start
	if start.Near(about, nearBreak) {
		at = end
	}
	if m.Apply(at).Sub(at).Dot(side) < 0 {
		m = geom.Turn(about, -angle)
	}
	return m
}

// stays reports whether the first of two parts keeps its place: it has the fold
// or, if both or neither have it, all of a centre seam along the grain, or the
// middle of the grain line.
func stays(p pattern.Piece, first, second []pattern.Edge, slash geom.Segment) bool {
	fold := func(edges []pattern.Edge) bool { return pattern.Piece{Edges: edges}.HasFold() }
	if a, b := fold(first), fold(second); a != b {
		return a
	}
	if a, b := centreAlong(p, first), centreAlong(p, second); (a > 0) != (b > 0) {
		return a > 0
	}
	region := append(pattern.Piece{Edges: first}.Outline(), geom.Line(slash.P3, slash.P0))
	return region.Contains(p.Grain.At(0.5))
}

// movePart moves one of the two parts of a slashed outline, with all that lies
// on it. The slash runs from the start of the first chain to the start of the
// second. Straight lines that continue the slashed edges close the gaps.
func movePart(p pattern.Piece, first, second []pattern.Edge, slash geom.Segment, movesFirst bool,
	m geom.Motion, cut string) (pattern.Piece, error) {
	moving, closing := first, geom.Line(slash.P3, slash.P0)
	if !movesFirst {
		moving, closing = second, geom.Line(slash.P0, slash.P3)
	}
	region := append(pattern.Piece{Edges: moving}.Outline(), closing)
	q, pins, err := moveWithin(p, pinsOf(p), region, moving, m, cut)
	if err != nil {
		return pattern.Piece{}, err
	}
	move := func(edges []pattern.Edge) []pattern.Edge {
		out := slices.Clone(edges)
		for i := range out {
			out[i].Path = out[i].Path.Move(m)
		}
		return out
	}
	if movesFirst {
		first = move(first)
	} else {
		second = move(second)
	}
	q.Edges = nil
	q.Edges = append(q.Edges, first...)
	q.Edges = append(q.Edges, filler(first[len(first)-1], second[0])...)
	q.Edges = append(q.Edges, second...)
	q.Edges = append(q.Edges, filler(second[len(second)-1], first[0])...)
	q.Edges = merged(q.Edges)
	return repin(q, pins), nil
}

// filler returns the straight line between two edges that were one, as part of
// it.
func filler(a, b pattern.Edge) []pattern.Edge {
	if a.Path.End().Near(b.Path.Start(), geom.JoinTol) {
		return nil
	}
	e := a
	if a.Role == pattern.RoleDartMouth {
		e = b
	}
	e.Path = geom.Path{geom.Line(a.Path.End(), b.Path.Start())}
	return []pattern.Edge{e}
}

// moveWithin is the piece with the darts, marks, lines and notches of a region
// of it moved; lines across its border are cut there. Its edges are unchanged;
// it has no notches: those given are returned as pins. cut names what cuts the region off in an error.
func moveWithin(p pattern.Piece, notches []pin, region geom.Path, moving []pattern.Edge, m geom.Motion,
	cut string) (pattern.Piece, []pin, error) {
	q := p
	inside := func(at geom.Point) bool { return region.Contains(at) || onPath(region, at) }
	q.Darts = nil
	for _, d := range p.Darts {
		n := 0
		points := slices.Clone(d.Apexes)
		if !d.Empty() {
			points = append(points, d.Legs[0].At(d.Legs[0].Length()/2), d.Legs[1].At(d.Legs[1].Length()/2))
		}
		for _, a := range points {
			if inside(a) {
				n++
			}
		}
		switch n {
		case 0:
			q.Darts = append(q.Darts, d)
		case len(points):
			q.Darts = append(q.Darts, d.Move(m))
		default:
			return pattern.Piece{}, nil, newError(p, "", "%s crosses the %s: move that first, or leave it out (undart)",
				cut, d.Name)
		}
	}
	q.Marks = nil
	for _, k := range p.Marks {
		if inside(k.At) {
			k.At = m.Apply(k.At)
		}
		q.Marks = append(q.Marks, k)
	}
	q.Lines = nil
	for _, l := range p.Lines {
		for _, part := range pieces(l.Path, region) {
			if region.Contains(part.At(part.Length() / 2)) {
				part = part.Move(m)
			}
			q.Lines = joinLine(q.Lines, pattern.Line{Name: l.Name, Path: part})
		}
	}
	border := pattern.Piece{Edges: moving}.Outline()
	q.Notches = nil
	var pins []pin
	for _, k := range notches {
		if _, d, _ := border.Nearest(k.at); d <= pinTol {
			k.at = m.Apply(k.at)
		}
		pins = append(pins, k)
	}
	return q, pins, nil
}

// pieces returns the parts into which a region's border cuts a line.
func pieces(line, region geom.Path) []geom.Path {
	cuts := []float64{0}
	for _, c := range line.Crossings(region) {
		cuts = append(cuts, c.A)
	}
	cuts = append(cuts, line.Length())
	slices.Sort(cuts)
	var parts []geom.Path
	for i := 1; i < len(cuts); i++ {
		if cuts[i]-cuts[i-1] > 0.1 {
			parts = append(parts, line.Part(cuts[i-1], cuts[i]))
		}
	}
	return parts
}

// Spread slashes the piece n times, from positions spaced evenly over one edge
// to positions spaced evenly over another, and opens each slash so that
// together they add total mm to the first edge and hinge mm to the other: 0 for
// a spread along one edge, total for parallel slashes.
func Spread(p pattern.Piece, run, other string, n int, total, hinge float64) (pattern.Piece, error) {
	if n < 1 || n > 64 {
		return pattern.Piece{}, newError(p, run, "%d slashes; must be from 1 to 64", n)
	}
	for _, name := range [...]string{run, other} {
		if err := checkRun(p, name); err != nil {
			return pattern.Piece{}, err
		}
	}
	each, eachHinge := total/float64(n), hinge/float64(n)
	length, across := p.RunLength(run), p.RunLength(other)
	// From the end of the edge to its start, so that what a slash adds lies
	// beyond the places still to come; the other edge runs the other way.
	for i := n - 1; i >= 0; i-- {
		f := (float64(i) + 0.5) / float64(n)
		done := float64(n - 1 - i)
		var err error
		p, err = Open(p, Position{run, f * length}, Position{other, (1-f)*across + done*eachHinge}, each, eachHinge)
		if err != nil {
			return pattern.Piece{}, err
		}
	}
	return p, nil
}

// Lengthen slashes the piece straight across from one edge to another, level
// with the point, and adds by mm along the grain between the parts.
func Lengthen(p pattern.Piece, level geom.Point, by float64) (pattern.Piece, error) {
	if by == 0 {
		return p, nil
	}
	u := p.Grain.P3.Sub(p.Grain.P0).Unit()
	if u == (geom.Point{}) {
		return pattern.Piece{}, newError(p, "", "the piece has no grain to be lengthened along")
	}
	outline := p.Outline()
	across := geom.Path{geom.Line(level.Sub(u.Left().Mul(pattern.MaxReach)), level.Add(u.Left().Mul(pattern.MaxReach)))}
	found := across.Crossings(outline)
	if len(found) != 2 {
		return pattern.Piece{}, newError(p, "",
			"a line across the piece at this level meets the outline %d times; it must meet it twice", len(found))
	}
	from, err := PositionOf(p, found[0].At)
	if err != nil {
		return pattern.Piece{}, err
	}
	to, err := PositionOf(p, found[1].At)
	if err != nil {
		return pattern.Piece{}, err
	}
	return Open(p, from, to, by, by)
}
