package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Extend moves an edge out by mm and extends its neighbours straight to it, as
// for a button stand or a wrap. The old edge stays as a line inside, named
// keep.
func Extend(p pattern.Piece, run string, by float64, keep string) (pattern.Piece, error) {
	e, err := wholeEdge(p, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	if !(by > 0 && by <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, run, "extended by %.1f mm; must be more than 0 and at most %g mm", by,
			pattern.MaxReach)
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
		return pattern.Piece{}, newError(p, run, "%s, extended straight, does not meet it %.1f mm out", before.Name, by)
	}
	end, ok := carry(out, false, after.Path.Start(), after.Path.StartTangent().Neg(), by)
	if !ok {
		return pattern.Piece{}, newError(p, run, "%s, extended straight, does not meet it %.1f mm out", after.Name, by)
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

// carry returns the point where the straight line from a neighbour's end meets
// the parallel of an edge or its straight continuation.
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

// trimTo cuts the path back to the point, or extends it there.
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

// A FacingShape says which strip of a piece a facing is.
type FacingShape struct {
	Runs  []string  // consecutive edges
	Width float64   // mm, unless Inner is given
	Inner geom.Path // from the edge before Runs to the edge after
}

// inner is the name of a facing's inner edge.
const inner = "inner"

// Facing returns a strip of a piece along edges, with its inner edge named
// inner. Darts that open in those edges or reach into the strip must be moved or
// removed first.
func Facing(p pattern.Piece, shape FacingShape, name, title string) (pattern.Piece, error) {
	var strip pattern.Piece
	if shape.Inner == nil {
		var err error
		if strip, err = cutStrip(p, shape.Runs, shape.Width, inner); err != nil {
			return pattern.Piece{}, err
		}
	} else {
		parts, err := CutApart(p, shape.Inner, nil, inner, [2]string{name, name})
		if err != nil {
			return pattern.Piece{}, err
		}
		strip = parts[0]
		if len(shape.Runs) > 0 && strip.EdgeIndex(shape.Runs[0]) < 0 {
			strip = parts[1]
		}
		for _, run := range shape.Runs {
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

// cutStrip returns the part within width mm of the edges.
func cutStrip(p pattern.Piece, runs []string, width float64, inner string) (pattern.Piece, error) {
	if len(runs) == 0 {
		return pattern.Piece{}, newError(p, "", "no edge is named for the strip")
	}
	if !(width > 0 && width <= pattern.MaxReach) {
		return pattern.Piece{}, newError(p, runs[0], "a strip %.1f mm wide; must be more than 0 and at most %g mm", width,
			pattern.MaxReach)
	}
	var along geom.Path
	for i, run := range runs {
		e, err := wholeEdge(p, run)
		if err != nil {
			return pattern.Piece{}, err
		}
		if i > 0 && !along.End().Near(e.Path.Start(), fitTol) {
			return pattern.Piece{}, newError(p, run, "it does not follow %s along the outline", runs[i-1])
		}
		along = geom.Join(along, e.Path)
	}
	path := along.Offset(-width, geom.OffsetTol)
	if len(path) == 0 {
		return pattern.Piece{}, newError(p, runs[0], "nothing is left of it %.1f mm in", width)
	}
	path = extendAcross(p, path, along)
	if path == nil {
		return pattern.Piece{}, newError(p, runs[0], "a line %.1f mm in from it does not cross the piece", width)
	}
	parts, err := CutApart(p, path, nil, inner, [2]string{p.Name, p.Name})
	if err != nil {
		return pattern.Piece{}, err
	}
	return parts[0], nil
}

// extendAcross extends a path inside the piece, or cuts it back, to the outline
// beyond both ends of the edges it is parallel to.
func extendAcross(p pattern.Piece, path, along geom.Path) geom.Path {
	outline := p.Outline()
	box := outline.Bounds()
	reach := box.Width() + box.Height() // a deep neck's facing runs far along the fold
	long := geom.Join(
		geom.Path{geom.Line(path.Start().Sub(path.StartTangent().Mul(reach)), path.Start())},
		path,
		geom.Path{geom.Line(path.End(), path.End().Add(path.EndTangent().Mul(reach)))})
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

// FoldOut adds a grown-on facing: the strip of the piece along an edge, width
// mm wide, mirrored over it. The edge stays as a line inside, named fold; the
// strip's edges are prefixed with facing_.
func FoldOut(p pattern.Piece, run string, width float64, fold string) (pattern.Piece, error) {
	e, err := wholeEdge(p, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	if !e.Path.IsStraight(pattern.FoldTol) {
		return pattern.Piece{}, newError(p, run, "a facing can be grown on to a straight edge only")
	}
	bare := p
	bare.Darts = slices.DeleteFunc(slices.Clone(p.Darts), func(d pattern.Dart) bool { return d.Mouth == "" })
	strip, err := cutStrip(bare, []string{run}, width, "edge")
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

// Lining returns the lining of a piece, shorter mm shorter at its hem. A pleat of pleat mm at
// the centre back, which is then cut on the fold, gives the arms room (common practice: 15
// to 25 mm); the old centre stays as a line named pleat. Drill holes and the lines that do not
// cross the piece, such as those of pockets and buttonholes, belong to the shell alone.
func Lining(p pattern.Piece, name, title string, shorter, pleat float64) (pattern.Piece, error) {
	if err := checkDimensions(p, dimension{"shorter", shorter, 0, 200}, dimension{"pleat", pleat, 0, 80}); err != nil {
		return pattern.Piece{}, err
	}
	p.Name, p.Title, p.Cloth, p.Interfacing, p.Notes = name, title, "lining", 0, nil
	outline := p.Outline()
	p.Marks = slices.DeleteFunc(slices.Clone(p.Marks), func(m pattern.Mark) bool { return m.Kind == pattern.MarkDrill })
	p.Lines = slices.DeleteFunc(slices.Clone(p.Lines), func(l pattern.Line) bool {
		return !onPath(outline, l.Path.Start()) || !onPath(outline, l.Path.End())
	})
	if shorter > 0 {
		if err := checkRun(p, hemRun); err != nil {
			return pattern.Piece{}, err
		}
		i, n := p.EdgeIndex(hemRun), len(p.Edges)
		var err error
		p, err = Drop(p, hemRun, map[string]float64{p.Edges[(i+n-1)%n].Name: shorter, p.Edges[(i+1)%n].Name: shorter})
		if err == nil {
			p, err = TrueUp(p, hemRun) // its sides may lean differently higher up
		}
		if err != nil {
			return pattern.Piece{}, err
		}
	}
	if pleat == 0 {
		return p, nil
	}
	p, err := Extend(p, centreBackRun, pleat, "pleat")
	if err != nil {
		return pattern.Piece{}, err
	}
	p.Edges[p.EdgeIndex(centreBackRun)].Role = pattern.RoleFold
	p.Cut = pattern.Cut{Count: 1, OnFold: true}
	return p, nil
}
