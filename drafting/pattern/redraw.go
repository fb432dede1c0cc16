package pattern

import (
	"slices"

	"tapeline/drafting/geom"
)

// fitTol is how far in mm a new edge may start from the neighbour it is to
// meet; within it the edge is moved by the hair that is missing.
const fitTol = 0.05

// newEdge is an edge of a loose piece.
func newEdge(name string, role Role, path geom.Path) Edge {
	return Edge{Name: name, Run: name, Role: role, Path: path}
}

// Redraw gives edges that follow each other along the outline new paths, each
// walked clockwise. The first starts and the last ends on the edge beside it,
// which is cut there, or on the straight continuation of that edge, which is
// carried on to it. No dart may open in an edge that is redrawn.
func Redraw(p Piece, runs []string, paths []geom.Path) (Piece, error) {
	n := len(p.Edges)
	if len(runs) == 0 || len(runs) != len(paths) || len(runs) >= n {
		return Piece{}, p.fail("", "%d edges to redraw with %d paths, of %d in all", len(runs), len(paths), n)
	}
	for i, run := range runs {
		if err := p.checkRun(run); err != nil {
			return Piece{}, err
		}
		switch parts := p.partsOf(run); {
		case parts > 1:
			return Piece{}, p.fail(run, "a dart opens in it; move the dart or redraw a part")
		case len(paths[i]) == 0:
			return Piece{}, p.fail(run, "an empty path to redraw it with")
		}
		if err := checkPath(paths[i]); err != "" {
			return Piece{}, p.fail(run, "the new path %s", err)
		}
	}
	edges := rotated(p.Edges, p.edgeIndex(runs[0]))
	for i, run := range runs {
		if edges[i].Name != run {
			return Piece{}, p.fail(run, "it does not follow %s along the outline; %s does", runs[max(i-1, 0)], edges[i].Name)
		}
	}
	before, after := &edges[n-1], &edges[len(runs)]
	paths = slices.Clone(paths)
	last := len(paths) - 1
	for i := 1; i < len(paths); i++ {
		end, start := paths[i-1].End(), paths[i].Start()
		if gap := end.Dist(start); gap > fitTol {
			return Piece{}, p.fail(runs[i], "the new path starts %.2f mm from the end of %s", gap, runs[i-1])
		}
		paths[i] = startingAt(paths[i], end)
	}
	var err error
	if before.Path, err = p.fitEnd(*before, paths[0].Start(), runs[0]); err != nil {
		return Piece{}, err
	}
	back, err := p.fitEnd(Edge{Name: after.Name, Role: after.Role, Path: after.Path.Reverse()}, paths[last].End(), runs[last])
	if err != nil {
		return Piece{}, err
	}
	after.Path = back.Reverse()
	if len(before.Path) == 0 || len(after.Path) == 0 {
		return Piece{}, p.fail(runs[0], "nothing is left of the edge beside it")
	}
	paths[0] = startingAt(paths[0], before.Path.End())
	paths[last] = endingAt(paths[last], after.Path.Start())
	pins := p.pins()
	q := p
	q.Edges = edges
	for i := range runs {
		q.Edges[i].Path = tidy(paths[i])
	}
	q.Edges = merged(rotated(q.Edges, n-p.edgeIndex(runs[0])))
	return q.repin(pins), nil
}

// partsOf is how many edges have that name.
func (p Piece) partsOf(run string) int {
	n := 0
	for _, e := range p.Edges {
		if e.Name == run {
			n++
		}
	}
	return n
}

// fitEnd cuts an edge where the point lies on it, or carries it on straight to
// the point. meets is the edge that is to meet it there.
func (p Piece) fitEnd(e Edge, at geom.Point, meets string) (geom.Path, error) {
	if e.Path.End().Near(at, fitTol) {
		return e.Path, nil
	}
	if e.Role == RoleDartMouth {
		return nil, p.fail(meets, "its new end leaves the dart mouth %s beside it", e.Name)
	}
	if _, d, along := e.Path.Nearest(at); d <= fitTol && along < e.Path.Length() {
		before, _ := e.Path.SplitAt(along)
		return before, nil
	}
	end, u := e.Path.End(), e.Path.EndTangent()
	if way := at.Sub(end); way.Dot(u) > 0 && abs(way.Cross(u)) <= fitTol {
		return tidy(append(slices.Clone(e.Path), geom.Line(end, at))), nil
	}
	_, d, _ := e.Path.Nearest(at)
	return nil, p.fail(meets, "its new end (%.1f, %.1f) lies %.1f mm off %s and its straight continuation", at.X, at.Y, d, e.Name)
}

// endingAt is the path with its end moved by a hair.
func endingAt(p geom.Path, at geom.Point) geom.Path {
	out := slices.Clone(p)
	// A last stroke no longer than the hair it is moved by would turn round.
	for len(out) > 1 && out[len(out)-1].Length() < fitTol {
		out = out[:len(out)-1]
	}
	s := &out[len(out)-1]
	if s.Straight {
		*s = geom.Line(s.P0, at)
	} else {
		s.P2, s.P3 = s.P2.Add(at.Sub(s.P3)), at
	}
	return out
}

func startingAt(p geom.Path, at geom.Point) geom.Path {
	out := slices.Clone(p)
	for len(out) > 1 && out[0].Length() < fitTol {
		out = out[1:]
	}
	s := &out[0]
	if s.Straight {
		*s = geom.Line(at, s.P3)
	} else {
		s.P1, s.P0 = s.P1.Add(at.Sub(s.P0)), at
	}
	return out
}

// checkPath says what keeps a path from being an edge, "" for nothing.
func checkPath(path geom.Path) string {
	if path.Check() != nil {
		return "is broken"
	}
	for _, s := range path {
		for _, q := range [...]geom.Point{s.P0, s.P1, s.P2, s.P3} {
			if !q.Finite() || abs(q.X) > maxReach || abs(q.Y) > maxReach {
				return "leaves the paper"
			}
		}
	}
	if path.Length() < geom.JoinTol {
		return "has no length"
	}
	return ""
}

// maxReach is the farthest coordinate in mm: a garment is far smaller.
const maxReach = 2e4

// Drop moves the ends of an edge along the edges beside it and stretches the
// edge between them: by names the neighbours and how far in mm the end cuts
// into each, below zero how far it is carried out beyond it. A neckline
// dropped by centre_front and shoulder is lower and wider; a hem dropped by
// less than zero is longer.
func Drop(p Piece, run string, by map[string]float64) (Piece, error) {
	if err := p.checkRun(run); err != nil {
		return Piece{}, err
	}
	if p.partsOf(run) > 1 {
		return Piece{}, p.fail(run, "a dart opens in it; move the dart first")
	}
	i, n := p.edgeIndex(run), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	for name := range by {
		if name != before.Name && name != after.Name {
			return Piece{}, p.fail(run, "%q is not beside it; %s and %s are", name, before.Name, after.Name)
		}
	}
	if before.Name == after.Name {
		return Piece{}, p.fail(run, "both its ends meet %s", before.Name)
	}
	start, err := p.moveEnd(before.Path, by[before.Name], before.Name)
	if err != nil {
		return Piece{}, err
	}
	end, err := p.moveEnd(after.Path.Reverse(), by[after.Name], after.Name)
	if err != nil {
		return Piece{}, err
	}
	return Redraw(p, []string{run}, []geom.Path{Stretch(p.Edges[i].Path, start, end)})
}

// moveEnd is the point by mm before the path's end, or beyond it.
func (p Piece) moveEnd(path geom.Path, by float64, name string) (geom.Point, error) {
	n := path.Length()
	if !(by < n-1) || by < -maxReach {
		return geom.Point{}, p.fail(name, "%.1f mm of its %.1f mm cut away", by, n)
	}
	if by < 0 {
		return path.End().Add(path.EndTangent().Mul(-by)), nil
	}
	return path.At(n - by), nil
}

// Stretch is the path with its ends brought to start and end. It is stretched
// along both axes of the paper, so that a curve that leaves square to the
// centre still does; one that runs along an axis is sheared instead.
func Stretch(path geom.Path, start, end geom.Point) geom.Path {
	o, was, want := path.Start(), path.End().Sub(path.Start()), end.Sub(start)
	apply := func(q geom.Point) geom.Point { return start.Add(q.Sub(o)) }
	const flat = 0.05
	switch n := was.Norm(); {
	case n == 0:
	case abs(was.X) > flat*n && abs(was.Y) > flat*n:
		kx, ky := want.X/was.X, want.Y/was.Y
		apply = func(q geom.Point) geom.Point {
			v := q.Sub(o)
			return start.Add(geom.Pt(kx*v.X, ky*v.Y))
		}
	case abs(was.X) > abs(was.Y):
		k, shear := want.X/was.X, (want.Y-was.Y)/was.X
		apply = func(q geom.Point) geom.Point {
			v := q.Sub(o)
			return start.Add(geom.Pt(k*v.X, v.Y+shear*v.X))
		}
	default:
		k, shear := want.Y/was.Y, (want.X-was.X)/was.Y
		apply = func(q geom.Point) geom.Point {
			v := q.Sub(o)
			return start.Add(geom.Pt(v.X+shear*v.Y, k*v.Y))
		}
	}
	out := make(geom.Path, len(path))
	for i, s := range path {
		if s.Straight {
			out[i] = geom.Line(apply(s.P0), apply(s.P3))
		} else {
			out[i] = geom.Cubic(apply(s.P0), apply(s.P1), apply(s.P2), apply(s.P3))
		}
		if i > 0 {
			out[i].P0 = out[i-1].P3
		}
	}
	return endingAt(out, end)
}

// Level makes an edge as long as to mm by dropping or lowering the edge beside
// it at one end: by is the name of that edge, for a side seam the hem.
func Level(p Piece, run, by string, to float64) (Piece, error) {
	if err := p.checkRun(by); err != nil {
		return Piece{}, err
	}
	return Drop(p, by, map[string]float64{run: p.RunLength(run) - to})
}

// SplitEdge makes two edges of one at a place inside it, each with its own
// name. No dart may open in it.
func SplitEdge(p Piece, at Place, first, second string) (Piece, error) {
	e, err := p.wholeEdge(at.Run)
	if err != nil {
		return Piece{}, err
	}
	if n := e.Path.Length(); !(at.At > 1 && at.At < n-1) {
		return Piece{}, p.fail(at.Run, "split at %.1f mm of its %.1f", at.At, n)
	}
	for _, name := range [...]string{first, second} {
		if name != at.Run && p.edgeIndex(name) >= 0 || first == second {
			return Piece{}, p.fail(at.Run, "it has an edge %q already", name)
		}
	}
	a, b := e, e
	a.Name, a.Run, b.Name, b.Run = first, first, second, second
	a.Path, b.Path = e.Path.SplitAt(at.At)
	i := p.edgeIndex(at.Run)
	pins := p.pins()
	for k := range pins {
		if pins[k].run != at.Run {
			continue
		}
		pins[k].run = first
		if _, d, _ := a.Path.Nearest(pins[k].at); d > pinTol {
			pins[k].run = second
		}
	}
	q := p
	q.Edges = slices.Concat(p.Edges[:i], []Edge{a, b}, p.Edges[i+1:])
	return q.repin(pins), nil
}

// TrueUp draws an edge anew between its ends as one curve, square to the edges
// beside it.
func TrueUp(p Piece, run string) (Piece, error) {
	e, err := p.wholeEdge(run)
	if err != nil {
		return Piece{}, err
	}
	n := len(p.Edges)
	i := p.edgeIndex(run)
	a, b := e.Path.Start(), e.Path.End()
	out := p.Edges[(i+n-1)%n].Path.EndTangent().Right()
	in := p.Edges[(i+1)%n].Path.StartTangent().Left()
	if way := b.Sub(a); way.Dot(out) <= 0 || way.Dot(in) <= 0 {
		return Piece{}, p.fail(run, "it can't be square to both edges beside it")
	}
	reach := a.Dist(b) / 3
	return Redraw(p, []string{run}, []geom.Path{{geom.Cubic(a, a.Add(out.Mul(reach)), b.Sub(in.Mul(reach)), b)}})
}

// StartingAt is the path with its start moved by a hair.
func StartingAt(p geom.Path, at geom.Point) geom.Path { return startingAt(p, at) }

// Flare swings a side out at the hem by mm, square to it, from the place above
// mm along it; the side is walked towards the hem. It keeps its length, and the
// hem is drawn anew, square to the side and running as before into its other
// end.
func Flare(p Piece, side, hem string, by, above float64) (Piece, error) {
	for _, run := range [...]string{side, hem} {
		if err := p.checkRun(run); err != nil {
			return Piece{}, err
		}
	}
	if by == 0 {
		return p, nil
	}
	n := len(p.Edges)
	h := p.edgeIndex(hem)
	last := p.Edges[(h+n-1)%n] // the part of the side that meets the hem
	if last.Name != side {
		return Piece{}, p.fail(side, "it does not run into %s; %s does", hem, last.Name)
	}
	if p.partsOf(hem) > 1 {
		return Piece{}, p.fail(hem, "a dart opens in it; move the dart first")
	}
	from := above - (p.RunLength(side) - last.Path.Length()) // along that part
	length := last.Path.Length()
	if from < 0 || from > length-20 {
		return Piece{}, p.fail(side, "flared from %.1f mm of its %.1f, in the part that meets %s", above, p.RunLength(side), hem)
	}
	if abs(by) > 1.2*(length-from) {
		return Piece{}, p.fail(side, "flared by %.1f mm over %.1f mm", by, length-from)
	}
	upper, lower := last.Path.SplitAt(from)
	foot := lower.End()
	end := foot.Add(lower.EndTangent().Left().Mul(by))
	start, out := lower.Start(), lower.StartTangent()
	want := lower.Length()
	var swung geom.Path
	for range 20 {
		way := end.Sub(start)
		reach := way.Norm() / 3
		u := way.Unit()
		swung = geom.Path{geom.Cubic(start, start.Add(out.Mul(reach)), end.Sub(u.Mul(reach)), end)}
		off := swung.Length() - want
		if abs(off) < 1e-7 {
			break
		}
		end = end.Sub(u.Mul(off))
	}
	old := p.Edges[h].Path
	tail := old.End()
	reach := end.Dist(tail) / 3
	along := swung.EndTangent().Right()
	newHem := geom.Path{geom.Cubic(end, end.Add(along.Mul(reach)), tail.Sub(old.EndTangent().Mul(reach)), tail)}
	pins := p.pins()
	q := p
	q.Edges = slices.Clone(p.Edges)
	q.Edges[(h+n-1)%n].Path = append(upper, swung...)
	q.Edges[h].Path = newHem
	// Notches on what is swung keep their distance along the side.
	for i, k := range pins {
		if k.run != side {
			continue
		}
		if _, d, at := last.Path.Nearest(k.at); d <= pinTol && at > from {
			pins[i].at = q.Edges[(h+n-1)%n].Path.At(at)
		}
	}
	return q.repin(pins), nil
}
