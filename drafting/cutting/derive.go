package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Rectangle is a straight piece: a band, cuff, belt or binding, its length
// across the paper. Its edges are top, end, bottom and start, clockwise from
// the top left corner.
func Rectangle(name, title string, length, width float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if !(length >= 5 && width >= 5 && length <= pattern.MaxReach && width <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, "", "%.1f mm long and %.1f mm wide; at least 5 mm", length, width)
	}
	a, b, c, d := geom.Pt(0, 0), geom.Pt(length, 0), geom.Pt(length, width), geom.Pt(0, width)
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleSeam, geom.Path{geom.Line(a, b)}),
		newEdge("end", pattern.RoleSeam, geom.Path{geom.Line(b, c)}),
		newEdge("bottom", pattern.RoleSeam, geom.Path{geom.Line(c, d)}),
		newEdge("start", pattern.RoleSeam, geom.Path{geom.Line(d, a)}),
	}
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// Extend carries an edge out by so many mm and the edges beside it straight on
// to it: a button stand or a wrap. The old edge stays as a line inside, named
// keep.
func Extend(p pattern.Piece, run string, by float64, keep string) (pattern.Piece, error) {
	e, err := wholeEdge(p, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	if !(by > 0 && by <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, run, "extended by %.1f mm; more than 0", by)
	}
	n := len(p.Edges)
	i := p.EdgeIndex(run)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	out := e.Path.Offset(by, geom.OffsetTol)
	if len(out) == 0 {
		return pattern.Piece{}, newError(p, run, "nothing is left of it %.1f mm out", by)
	}
	start, ok := carry(out, true, before.Path.End(), before.Path.EndTangent(), by)
	if !ok {
		return pattern.Piece{}, newError(p, run, "%s, carried on straight, does not meet it %.1f mm out", before.Name, by)
	}
	end, ok := carry(out, false, after.Path.Start(), after.Path.StartTangent().Neg(), by)
	if !ok {
		return pattern.Piece{}, newError(p, run, "%s, carried on straight, does not meet it %.1f mm out", after.Name, by)
	}
	out = trimTo(out, start, true).MoveStart(start)
	out = trimTo(out, end, false).MoveEnd(end)
	role := e.Role
	q, err := Redraw(p, []string{run}, []geom.Path{out})
	if err != nil {
		return pattern.Piece{}, err
	}
	if role == pattern.RoleFold {
		q.Edges[q.EdgeIndex(run)].Role = pattern.RoleSeam
		q.Cut = pattern.Cut{Count: 2, Pair: true}
	}
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: keep, Path: e.Path})
	return q, nil
}

// carry is where the straight line from a neighbour's end meets the parallel
// of an edge, or the straight continuation of it.
func carry(out geom.Path, atStart bool, from, u geom.Point, by float64) (geom.Point, bool) {
	end, along := out.Start(), out.StartTangent()
	if !atStart {
		end, along = out.End(), out.EndTangent()
	}
	if at, s, _, ok := geom.MeetLines(from, u, end, along); ok && s > 0 && s < 5*by && at.Dist(end) < 5*by {
		return at, true
	}
	return geom.Point{}, false
}

// trimTo cuts the path back to the point, if it passes it.
func trimTo(path geom.Path, at geom.Point, start bool) geom.Path {
	_, d, along := path.Nearest(at)
	if d > fitTol {
		if start && !path.Start().Near(at, geom.JoinTol) {
			return geom.Join(geom.Path{geom.Line(at, path.Start())}, path)
		}
		if !start && !path.End().Near(at, geom.JoinTol) {
			return geom.Join(path, geom.Path{geom.Line(path.End(), at)})
		}
		return path
	}
	before, after := path.SplitAt(along)
	if start && len(after) > 0 {
		return after
	}
	if !start && len(before) > 0 {
		return before
	}
	return path
}

// Facing is the strip of a piece along edges that follow each other, so many
// mm wide, with its inner edge named inner. With a path, from the edge before
// them to the edge after, that is its inner edge. Darts that open in those
// edges or reach into the strip must be moved or given up before.
func Facing(p pattern.Piece, runs []string, width float64, along geom.Path, name, title, inner string) (pattern.Piece, error) {
	var strip pattern.Piece
	if along == nil {
		var err error
		if strip, _, err = cutStrip(p, runs, width, inner); err != nil {
			return pattern.Piece{}, err
		}
	} else {
		parts, err := CutApart(p, along, nil, inner, [2]string{name, name})
		if err != nil {
			return pattern.Piece{}, err
		}
		strip = parts[0]
		if len(runs) > 0 && strip.EdgeIndex(runs[0]) < 0 {
			strip = parts[1]
		}
		for _, run := range runs {
			if strip.EdgeIndex(run) < 0 {
				return pattern.Piece{}, newError(p, run, "the facing's inner edge cuts it off")
			}
		}
	}
	strip.Name, strip.Title = name, title
	strip.Lines, strip.Marks, strip.Notches = nil, nil, nil
	strip.Edges[strip.EdgeIndex(inner)].Role = pattern.RoleEdge
	return strip, nil
}

// strip cuts off what lies within width mm of the edges.
func cutStrip(p pattern.Piece, runs []string, width float64, inner string) (strip, rest pattern.Piece, err error) {
	if len(runs) == 0 {
		return strip, rest, newError(p, "", "no edge to face")
	}
	if !(width > 0 && width <= pattern.MaxReach) {
		return strip, rest, newError(p, runs[0], "a strip %.1f mm wide; more than 0", width)
	}
	var along geom.Path
	for i, run := range runs {
		e, err := wholeEdge(p, run)
		if err != nil {
			return strip, rest, err
		}
		if i > 0 && !along.End().Near(e.Path.Start(), fitTol) {
			return strip, rest, newError(p, run, "it does not follow %s along the outline", runs[i-1])
		}
		along = geom.Join(along, e.Path)
	}
	path := along.Offset(-width, geom.OffsetTol)
	if len(path) == 0 {
		return strip, rest, newError(p, runs[0], "nothing is left of it %.1f mm in", width)
	}
	path = extendAcross(p, path, along, width)
	if path == nil {
		return strip, rest, newError(p, runs[0], "a line %.1f mm in from it does not cross the piece", width)
	}
	parts, err := CutApart(p, path, nil, inner, [2]string{p.Name, p.Name})
	if err != nil {
		return strip, rest, err
	}
	return parts[0], parts[1], nil
}

// acrossFrom carries a path inside the piece on, or cuts it back, to the
// outline beyond both ends of the edges that it is parallel to.
func extendAcross(p pattern.Piece, path, along geom.Path, width float64) geom.Path {
	reach := 4 * width
	long := geom.Join(
		geom.Path{geom.Line(path.Start().Sub(path.StartTangent().Mul(reach)), path.Start())},
		path,
		geom.Path{geom.Line(path.End(), path.End().Add(path.EndTangent().Mul(reach)))})
	outline := p.Outline()
	middle := reach + path.Length()/2
	from, to := -1.0, -1.0
	for _, c := range long.Crossings(outline) {
		if onPath(along, c.At) {
			continue
		}
		if c.A <= middle && c.A > from {
			from = c.A
		}
		if c.A >= middle && (to < 0 || c.A < to) {
			to = c.A
		}
	}
	if from < 0 || to < 0 || to-from < 1 {
		return nil
	}
	return long.Part(from, to)
}

// FoldOut adds a grown-on facing: the strip of the piece along an edge, so many
// mm wide, mirrored over it. The edge stays as a line inside, named fold; the
// strip's edges take facing_ in front of their names.
func FoldOut(p pattern.Piece, run string, width float64, fold string) (pattern.Piece, error) {
	e, err := wholeEdge(p, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	if !e.Path.IsStraight(pattern.FoldTol) {
		return pattern.Piece{}, newError(p, run, "a facing can only be grown on to a straight edge")
	}
	bare := p
	bare.Darts = slices.DeleteFunc(slices.Clone(p.Darts), func(d pattern.Dart) bool { return d.Mouth == "" })
	strip, _, err := cutStrip(bare, []string{run}, width, "edge")
	if err != nil {
		return pattern.Piece{}, err
	}
	strip = strip.Move(geom.Reflect(e.Path.Start(), e.Path.End().Sub(e.Path.Start())))
	strip.Lines, strip.Marks, strip.Notches = nil, nil, nil
	strip.Edges[strip.EdgeIndex("edge")].Role = pattern.RoleEdge
	for i := range strip.Edges {
		if k := &strip.Edges[i]; k.Name != run {
			k.Name = "facing_" + k.Name
			k.Run = k.Name
		}
	}
	q, err := Join(p, run, strip, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: fold, Path: e.Path})
	for i, k := range q.Edges {
		if k.Name == run {
			q.Edges[i].Role = pattern.RoleSeam
		}
	}
	if e.Role == pattern.RoleFold {
		q.Cut = pattern.Cut{Count: 2, Pair: true}
	}
	return q, nil
}

// Band is a rectangle; doubled it is twice as wide, with its fold drawn along
// the middle and notched at both ends.
func Band(name, title string, length, width float64, doubled bool) (pattern.Piece, error) {
	if !doubled {
		return Rectangle(name, title, length, width)
	}
	p, err := Rectangle(name, title, length, 2*width)
	if err != nil {
		return pattern.Piece{}, err
	}
	p.Lines = []pattern.Line{{Name: "fold", Path: geom.Path{geom.Line(geom.Pt(0, width), geom.Pt(length, width))}}}
	p.Notches = []pattern.Notch{{Edge: "end", At: width, Kind: pattern.NotchSingle}, {Edge: "start", At: width, Kind: pattern.NotchSingle}}
	// The grain would hide the fold.
	p.Grain = geom.Line(geom.Pt(0.15*length, 0.5*width), geom.Pt(0.85*length, 0.5*width))
	return p, nil
}

// A BandPart is a named part of a band: so many mm that are sewn to one place.
type BandPart struct {
	Name   string
	Length float64
}

// Waistband is a doubled band as it lies unrolled, right side up, so many mm
// deep when it is folded: its top edge is the inside's, and its lower edge falls
// into the parts that are sewn to the garment, from the right end to the left,
// and an underlap at the left end. Its edges are top, end, the parts, underlap
// and start.
func Waistband(name, title string, depth, underlap float64, parts []BandPart) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}, Interfacing: 1, Notes: []string{"Fold along the middle."}}
	whole := underlap
	for _, s := range parts {
		if !(s.Length >= 5 && s.Length <= pattern.MaxReach) {
			return pattern.Piece{}, newError(p, s.Name, "%.1f mm long; at least 5", s.Length)
		}
		whole += s.Length
	}
	if !(depth >= 10 && depth <= 200 && underlap >= 5 && underlap <= 300 && whole <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, "", "%.1f mm deep, an underlap of %.1f, %.1f long; at least 10 deep, an underlap of at least 5", depth, underlap, whole)
	}
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleEdge, geom.Polyline(geom.Pt(0, 0), geom.Pt(whole, 0))),
		newEdge("end", pattern.RoleEdge, geom.Polyline(geom.Pt(whole, 0), geom.Pt(whole, 2*depth))),
	}
	x := whole
	for _, s := range append(slices.Clip(parts), BandPart{"underlap", underlap}) {
		p.Edges = append(p.Edges, newEdge(s.Name, pattern.RoleSeam, geom.Polyline(geom.Pt(x, 2*depth), geom.Pt(x-s.Length, 2*depth))))
		x -= s.Length
	}
	p.Edges[len(p.Edges)-1].Role = pattern.RoleEdge
	p.Edges[len(p.Edges)-1].Path = p.Edges[len(p.Edges)-1].Path.MoveEnd(geom.Pt(0, 2*depth))
	p.Edges = append(p.Edges, newEdge("start", pattern.RoleEdge, geom.Polyline(geom.Pt(0, 2*depth), geom.Pt(0, 0))))
	p.Lines = []pattern.Line{{Name: "fold", Path: geom.Polyline(geom.Pt(0, depth), geom.Pt(whole, depth))}}
	// The grain would hide the fold.
	p.Grain = geom.Line(geom.Pt(0.15*whole, 0.5*depth), geom.Pt(0.85*whole, 0.5*depth))
	return p, nil
}
