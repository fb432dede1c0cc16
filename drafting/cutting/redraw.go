package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// fitTol is the largest gap in mm between a new edge and the neighbour it must
// meet; the edge is moved to close it.
const fitTol = 0.05

// newEdge returns an edge of a loose piece.
func newEdge(name string, role pattern.Role, path geom.Path) pattern.Edge {
	return pattern.Edge{Name: name, Run: name, Role: role, Path: path}
}

// Redraw gives consecutive edges new paths, each walked clockwise. The first
// path starts and the last one ends on the neighbouring edge, which is cut
// there, or on its straight continuation, to which it is extended. No dart may
// open in a redrawn edge.
func Redraw(p pattern.Piece, runs []string, paths []geom.Path) (pattern.Piece, error) {
	n := len(p.Edges)
	if len(runs) == 0 || len(runs) != len(paths) || len(runs) >= n {
		return pattern.Piece{}, newError(p, "",
			"%d edges and %d paths to redraw them with; as many of each are required, at least 1 and at most %d",
			len(runs), len(paths), n-1)
	}
	for i, run := range runs {
		if err := checkRun(p, run); err != nil {
			return pattern.Piece{}, err
		}
		switch parts := countParts(p, run); {
		case parts > 1:
			return pattern.Piece{}, newError(p, run, "a dart opens in it: move the dart first")
		case len(paths[i]) == 0:
			return pattern.Piece{}, newError(p, run, "its new path is empty")
		}
		if err := pattern.CheckPath(paths[i]); err != nil {
			return pattern.Piece{}, newError(p, run, "its new path %v", err)
		}
	}
	edges := rotated(p.Edges, p.EdgeIndex(runs[0]))
	for i, run := range runs {
		if edges[i].Name != run {
			return pattern.Piece{}, newError(p, run, "it does not follow %s along the outline; %s does", runs[max(i-1, 0)],
				edges[i].Name)
		}
	}
	before, after := &edges[n-1], &edges[len(runs)]
	paths = slices.Clone(paths)
	last := len(paths) - 1
	for i := 1; i < len(paths); i++ {
		end, start := paths[i-1].End(), paths[i].Start()
		if gap := end.Dist(start); gap > fitTol {
			return pattern.Piece{}, newError(p, runs[i], "its new path starts %.2f mm from the end of %s; at most %g mm", gap,
				runs[i-1], fitTol)
		}
		paths[i] = paths[i].MoveStart(end)
	}
	var err error
	if before.Path, err = fitEnd(p, *before, paths[0].Start(), runs[0]); err != nil {
		return pattern.Piece{}, err
	}
	back, err := fitEnd(p, pattern.Edge{Name: after.Name, Role: after.Role, Path: after.Path.Reverse()},
		paths[last].End(), runs[last])
	if err != nil {
		return pattern.Piece{}, err
	}
	after.Path = back.Reverse()
	if len(before.Path) == 0 || len(after.Path) == 0 {
		return pattern.Piece{}, newError(p, runs[0], "nothing is left of the edge next to it")
	}
	paths[0] = paths[0].MoveStart(before.Path.End())
	paths[last] = paths[last].MoveEnd(after.Path.Start())
	pins := pinsOf(p)
	q := p
	q.Edges = edges
	for i := range runs {
		q.Edges[i].Path = paths[i].MergeLines()
	}
	q.Edges = merged(rotated(q.Edges, n-p.EdgeIndex(runs[0])))
	return repin(cutLines(q, p), pins), nil
}

// cutLines cuts the lines of a redrawn piece, or drops them, where they lay on the piece as it was and
// are now outside: the hip of a garment that ends above it.
func cutLines(p, was pattern.Piece) pattern.Piece {
	outline, old := p.Outline(), was.Outline()
	cutOff := func(at geom.Point) bool {
		_, d, _ := outline.Nearest(at)
		return d > fitTol && !outline.Contains(at) && (old.Contains(at) || onPath(old, at))
	}
	lines := p.Lines
	p.Lines = nil
	for _, l := range lines {
		if !cutOff(l.Path.Start()) && !cutOff(l.Path.End()) && !cutOff(l.Path.At(l.Path.Length()/2)) {
			p.Lines = append(p.Lines, l)
			continue
		}
		for _, part := range l.Path.ClipTo(outline) {
			p.Lines = append(p.Lines, pattern.Line{Name: l.Name, Path: part})
		}
	}
	return p
}

// countParts returns the number of edges with the name.
func countParts(p pattern.Piece, run string) int {
	n := 0
	for _, e := range p.Edges {
		if e.Name == run {
			n++
		}
	}
	return n
}

// fitEnd cuts an edge at a point on it, or extends it straight to the point.
// meets is the edge that must meet it there.
func fitEnd(p pattern.Piece, e pattern.Edge, at geom.Point, meets string) (geom.Path, error) {
	if e.Path.End().Near(at, fitTol) {
		return e.Path, nil
	}
	if e.Role == pattern.RoleDartMouth {
		return nil, newError(p, meets, "its new end leaves the dart mouth %s next to it", e.Name)
	}
	if _, d, along := e.Path.Nearest(at); d <= fitTol && along < e.Path.Length() {
		before, _ := e.Path.SplitAt(along)
		for n := len(before); n > 1 && before[n-1].Length() < fitTol; n = len(before) {
			before = before[:n-1] // a hair is left beyond a joint; the new edge reaches to it
		}
		return before, nil
	}
	end, u := e.Path.End(), e.Path.EndTangent()
	if way := at.Sub(end); way.Dot(u) > 0 && math.Abs(way.Cross(u)) <= fitTol {
		return append(slices.Clone(e.Path), geom.Line(end, at)).MergeLines(), nil
	}
	_, d, _ := e.Path.Nearest(at)
	return nil, newError(p, meets,
		"its new end (%.1f, %.1f) lies %.1f mm off %s; it must lie on that edge or its straight continuation",
		at.X, at.Y, d, e.Name)
}

// Drop moves the ends of an edge along its neighbours and stretches the edge
// between them. by gives for each neighbour how far in mm the end cuts into it,
// negative to extend it. A neckline dropped by centre_front and shoulder is
// lower and wider; a hem dropped by a negative length is longer.
func Drop(p pattern.Piece, run string, by map[string]float64) (pattern.Piece, error) {
	if err := checkRun(p, run); err != nil {
		return pattern.Piece{}, err
	}
	if countParts(p, run) > 1 {
		return pattern.Piece{}, newError(p, run, "a dart opens in it: move the dart first")
	}
	i, n := p.EdgeIndex(run), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	for name := range by {
		if name != before.Name && name != after.Name {
			return pattern.Piece{}, newError(p, run, "%q is not next to it; %s and %s are", name, before.Name, after.Name)
		}
	}
	if before.Name == after.Name {
		return pattern.Piece{}, newError(p, run, "both its ends meet %s", before.Name)
	}
	start, err := moveEnd(p, before.Path, by[before.Name], before.Name)
	if err != nil {
		return pattern.Piece{}, err
	}
	end, err := moveEnd(p, after.Path.Reverse(), by[after.Name], after.Name)
	if err != nil {
		return pattern.Piece{}, err
	}
	return Redraw(p, []string{run}, []geom.Path{p.Edges[i].Path.Stretch(start, end)})
}

// moveEnd returns the point by mm before the path's end, or beyond it if by is
// negative.
func moveEnd(p pattern.Piece, path geom.Path, by float64, name string) (geom.Point, error) {
	n := path.Length()
	if !(by < n-1) || by < -pattern.MaxReach {
		return geom.Point{}, newError(p, name, "cut back by %.1f mm; must be less than its length of %.1f mm", by, n)
	}
	if by < 0 {
		return path.End().Add(path.EndTangent().Mul(-by)), nil
	}
	return path.At(n - by), nil
}

// Level makes an edge to mm long by dropping the edge named by at one of its
// ends: for a side seam, the hem.
func Level(p pattern.Piece, run, by string, to float64) (pattern.Piece, error) {
	if err := checkRun(p, by); err != nil {
		return pattern.Piece{}, err
	}
	return Drop(p, by, map[string]float64{run: p.RunLength(run) - to})
}

// SplitEdge splits an edge in two at a position inside it, each part with its
// own name. A dart that opens in the edge stays in its part.
func SplitEdge(p pattern.Piece, at Position, first, second string) (pattern.Piece, error) {
	if err := checkRun(p, at.Run); err != nil {
		return pattern.Piece{}, err
	}
	if n := p.RunLength(at.Run); !(at.At > 1 && at.At < n-1) {
		return pattern.Piece{}, newError(p, at.Run, "split at %.1f mm; must be more than 1 and less than %.1f mm", at.At, n-1)
	}
	for _, name := range [...]string{first, second} {
		if name != at.Run && p.EdgeIndex(name) >= 0 || first == second {
			return pattern.Piece{}, newError(p, at.Run, "the piece already has an edge %q", name)
		}
	}
	i, from := partAt(p, at)
	if n := p.Edges[i].Path.Length(); from <= 1 || from >= n-1 {
		return pattern.Piece{}, newError(p, at.Run, "split at %.1f mm, where a dart opens; must be at least 1 mm beside it",
			at.At)
	}
	q := p
	q.Edges = nil
	for k, e := range p.Edges {
		rest := e
		if k == i {
			e.Path, rest.Path = e.Path.SplitAt(from)
		}
		if e.Name == at.Run && e.Role != pattern.RoleDartMouth {
			e.Name, rest.Name = first, second
			if k > i {
				e.Name = second
			}
			e.Run, rest.Run = e.Name, rest.Name
		}
		q.Edges = append(q.Edges, e)
		if k == i {
			q.Edges = append(q.Edges, rest)
		}
	}
	pins := pinsOf(p)
	for k := range pins {
		if pins[k].run != at.Run {
			continue
		}
		pins[k].run = first
		if _, d, _ := q.Run(first).Nearest(pins[k].at); d > pinTol {
			pins[k].run = second
		}
	}
	return repin(q, pins), nil
}

// TrueUp redraws an edge between its ends as one curve, square to its
// neighbours.
func TrueUp(p pattern.Piece, run string) (pattern.Piece, error) {
	e, err := wholeEdge(p, run)
	if err != nil {
		return pattern.Piece{}, err
	}
	n := len(p.Edges)
	i := p.EdgeIndex(run)
	a, b := e.Path.Start(), e.Path.End()
	out := p.Edges[(i+n-1)%n].Path.EndTangent().Right()
	in := p.Edges[(i+1)%n].Path.StartTangent().Left()
	if way := b.Sub(a); way.Dot(out) <= 0 || way.Dot(in) <= 0 {
		return pattern.Piece{}, newError(p, run, "it can't be square to both edges next to it")
	}
	reach := a.Dist(b) / 3
	return Redraw(p, []string{run}, []geom.Path{{geom.Cubic(a, a.Add(out.Mul(reach)), b.Sub(in.Mul(reach)), b)}})
}

// Flare swings a side out at the hem by mm, square to it, from above mm along
// it; the side is walked towards the hem. It keeps its length. The hem is
// redrawn, square to the side and unchanged in direction at its other end.
func Flare(p pattern.Piece, side, hem string, by, above float64) (pattern.Piece, error) {
	for _, run := range [...]string{side, hem} {
		if err := checkRun(p, run); err != nil {
			return pattern.Piece{}, err
		}
	}
	if by == 0 {
		return p, nil
	}
	n := len(p.Edges)
	h := p.EdgeIndex(hem)
	last := p.Edges[(h+n-1)%n] // the part of the side that meets the hem
	if last.Name != side {
		return pattern.Piece{}, newError(p, side, "it does not run into %s; %s does", hem, last.Name)
	}
	if countParts(p, hem) > 1 {
		return pattern.Piece{}, newError(p, hem, "a dart opens in it: move the dart first")
	}
	from := above - (p.RunLength(side) - last.Path.Length()) // along that part
	length := last.Path.Length()
	if from < 0 || from > length-20 {
		return pattern.Piece{}, newError(p, side,
			"flared from %.1f mm of its %.1f mm; must be in the part that meets %s, at least 20 mm above it",
			above, p.RunLength(side), hem)
	}
	if math.Abs(by) > 1.2*(length-from) {
		return pattern.Piece{}, newError(p, side, "flared by %.1f mm; at most %.1f mm over a length of %.1f mm", by,
			1.2*(length-from), length-from)
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
		if math.Abs(off) < 1e-7 {
			break
		}
		end = end.Sub(u.Mul(off))
	}
	old := p.Edges[h].Path
	tail := old.End()
	reach := end.Dist(tail) / 3
	along := swung.EndTangent().Right()
	newHem := geom.Path{geom.Cubic(end, end.Add(along.Mul(reach)), tail.Sub(old.EndTangent().Mul(reach)), tail)}
	pins := pinsOf(p)
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
	return repin(q, pins), nil
}

// FlareOn swings a side out at the hem as Flare does, from where it points to
// the new hem: above the widest place of a hip, so that the seam runs straight
// on from its curve and does not turn upright there first. A side that nowhere
// leans that far out is flared from where it leans most.
func FlareOn(p pattern.Piece, side, hem string, by float64) (pattern.Piece, error) {
	if err := checkRun(p, hem); err != nil {
		return pattern.Piece{}, err
	}
	n := len(p.Edges)
	last := p.Edges[(p.EdgeIndex(hem)+n-1)%n]
	if last.Name != side || by <= 0 {
		return Flare(p, side, hem, by, p.RunLength(side)/2)
	}
	foot := last.Path.End().Add(last.Path.EndTangent().Left().Mul(by))
	length := last.Path.Length()
	// Negative where the side leans less far out than the way to the hem.
	out := func(at float64) float64 {
		from := last.Path.At(at)
		_, rest := last.Path.SplitAt(at)
		return geom.AngleBetween(rest.StartTangent(), foot.Sub(from))
	}
	const step = 4.0
	best, most := length*0.5, math.Inf(-1)
	for at := length - 120; at > 1; at -= step {
		if v := out(at); v > most {
			best, most = at, v
		}
		if most > 0 {
			break
		}
	}
	return Flare(p, side, hem, by, p.RunLength(side)-length+best)
}

// Taper makes an edge, such as the end of a sleeve, wide mm from end to end and straight, moving both
// ends alike. The edges beside it are stretched to them; over square mm they turn square to it.
func Taper(p pattern.Piece, run string, wide, square float64) (pattern.Piece, error) {
	if err := checkRun(p, run); err != nil {
		return p, err
	}
	if countParts(p, run) > 1 {
		return p, newError(p, run, "a dart opens in it: move the dart first")
	}
	if err := checkDimensions(p, dimension{"width", wide, 20, pattern.MaxReach},
		dimension{"square", square, 0, 500}); err != nil {
		return p, err
	}
	i, n := p.EdgeIndex(run), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	start, end := p.Edges[i].Path.Start(), p.Edges[i].Path.End()
	way := end.Sub(start).Unit()
	off := way.Mul((wide - start.Dist(end)) / 2)
	start, end = start.Sub(off), end.Add(off)
	first, err := squared(p, before, start, way, square)
	if err != nil {
		return p, err
	}
	after.Path = after.Path.Reverse()
	second, err := squared(p, after, end, way, square)
	if err != nil {
		return p, err
	}
	return Redraw(p, []string{before.Name, run, after.Name},
		[]geom.Path{first, {geom.Line(start, end)}, second.Reverse()})
}

// squared returns an edge stretched to end at a point, square to a direction over the last mm.
func squared(p pattern.Piece, e pattern.Edge, at, across geom.Point, over float64) (geom.Path, error) {
	path := e.Path.Stretch(e.Path.Start(), at)
	if path.Length() < over+1 {
		return nil, newError(p, e.Name, "%.1f mm are left of it; %.1f mm must be redrawn", path.Length(), over)
	}
	if over < fitTol {
		return path, nil
	}
	out := across.Right()
	if path.EndTangent().Dot(out) < 0 {
		out = out.Mul(-1)
	}
	path, _ = path.SplitAt(path.Length() - over)
	foot, err := geom.Spline([]geom.Point{path.End(), at}, path.EndTangent(), out, 1)
	return append(path, foot...), err
}
