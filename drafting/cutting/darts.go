package cutting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// MoveDart closes a dart that opens at an edge and opens it at another position
// of the outline: it turns the part between the two positions, on the side away
// from the fold or the grain, about the pivot. Every seam keeps its length. The
// pivot lies on the line that bisects the dart, at its apex or beyond it, as
// the bust point does; the sewn dart ends as far short of it as before. Moving an
// empty dart changes no edge.
func MoveDart(p pattern.Piece, name string, to Position, pivot geom.Point) (pattern.Piece, error) {
	d, err := openDart(p, name)
	if err != nil {
		return pattern.Piece{}, err
	}
	if d.Empty() {
		return moveEmpty(p, d, to, pivot)
	}
	mouth := p.Edges[p.EdgeIndex(d.Mouth)].Path
	start, end := mouth.Start(), mouth.End()
	if off := math.Abs(start.Dist(pivot) - end.Dist(pivot)); off > pattern.SeamTol {
		return pattern.Piece{}, newError(p, d.Mouth,
			"the %s can't turn about (%.0f, %.0f): its legs would differ by %.1f mm", name, pivot.X, pivot.Y, off)
	}
	short := pivot.Dist(d.Apexes[0])
	i := p.EdgeIndex(d.Mouth)
	shut := p
	shut.Edges = rotated(p.Edges, i)[1:]
	shut.Darts = slices.DeleteFunc(slices.Clone(p.Darts), func(k pattern.Dart) bool { return k.Name == name })
	at, err := PointAt(p, to)
	if err != nil {
		return pattern.Piece{}, err
	}
	first, second, err := splitChain(shut, at)
	if err != nil {
		return pattern.Piece{}, err
	}
	// first runs from the mouth's end to the new place, second from there to
	// the mouth's start.
	at = second[0].Path.Start()
	wedge := geom.Path{geom.Line(at, pivot), geom.Line(pivot, end)}
	other := geom.Path{geom.Line(start, pivot), geom.Line(pivot, at)}
	angle := geom.AngleBetween(end.Sub(pivot), start.Sub(pivot)) // shuts the dart from its end
	turnsFirst := !staysAfter(shut, first, second, wedge)
	m := geom.Turn(pivot, angle)
	moving, region := first, append(pattern.Piece{Edges: first}.Outline(), wedge...)
	if !turnsFirst {
		m = geom.Turn(pivot, -angle)
		moving, region = second, append(pattern.Piece{Edges: second}.Outline(), other...)
	}
	q, pins, err := moveWithin(shut, pinsOf(p), region, moving, m, fmt.Sprintf("the cut that moves the %s to the %s",
		name, words(to.Run)))
	if err != nil {
		return pattern.Piece{}, err
	}
	moved := slices.Clone(moving)
	for i := range moved {
		moved[i].Path = moved[i].Path.Move(m)
	}
	a, b := at, m.Apply(at) // the new mouth's ends, clockwise
	if turnsFirst {
		first, a, b = moved, b, a
		first[0].Path = first[0].Path.MoveStart(start) // legs are equal within FitTol
	} else {
		second = moved
		last := &second[len(second)-1]
		last.Path = last.Path.MoveEnd(end)
	}
	open := pattern.Edge{Name: d.Mouth, Run: d.Mouth, Role: pattern.RoleDartMouth, Path: geom.Path{geom.Line(a, b)}}
	q.Edges = slices.Concat(first, []pattern.Edge{open}, second)
	q.Edges = merged(q.Edges)
	apex := pivot.Add(a.Lerp(b, 0.5).Sub(pivot).Unit().Mul(short))
	q.Darts = append(q.Darts, pattern.Dart{Name: name, Mouth: d.Mouth, Apexes: []geom.Point{apex}, Pressed: d.Pressed,
		Legs: [2]geom.Path{{geom.Line(a, apex)}, {geom.Line(b, apex)}}})
	return repin(q, pins), nil
}

// moveEmpty moves an empty dart to another position of the outline.
func moveEmpty(p pattern.Piece, d pattern.Dart, to Position, pivot geom.Point) (pattern.Piece, error) {
	at, err := PointAt(p, to)
	if err != nil {
		return pattern.Piece{}, err
	}
	short := min(pivot.Dist(d.Apexes[0]), 0.9*pivot.Dist(at))
	q := p
	q.Darts = slices.DeleteFunc(slices.Clone(p.Darts), func(k pattern.Dart) bool { return k.Name == d.Name })
	q.Darts = append(q.Darts, pattern.EmptyDart(d.Name, at, pivot.Add(at.Sub(pivot).Unit().Mul(short))))
	return q, nil
}

// staysAfter reports whether the first chain keeps its place: it has the fold or, without a fold, all
// of a centre along the grain or, without one, the grain.
func staysAfter(p pattern.Piece, first, second []pattern.Edge, wedge geom.Path) bool {
	fold := func(edges []pattern.Edge) bool { return pattern.Piece{Edges: edges}.HasFold() }
	if a, b := fold(first), fold(second); a || b {
		return a
	}
	if a, b := centreAlong(p, first), centreAlong(p, second); (a > 0) != (b > 0) {
		return a > 0
	}
	return append(pattern.Piece{Edges: first}.Outline(), wedge...).Contains(p.Grain.At(0.5))
}

// centreAlong returns how many mm of centre seams among the edges lie along the grain: if they turned,
// the piece would be cut off the grain.
func centreAlong(p pattern.Piece, edges []pattern.Edge) float64 {
	long := 0.0
	u := p.Grain.P3.Sub(p.Grain.P0).Unit()
	for _, e := range edges {
		across := math.Abs(e.Path.End().Sub(e.Path.Start()).Unit().Cross(u))
		if strings.HasPrefix(e.Run, "centre") && across < 1e-3 && e.Path.IsStraight(pattern.FoldTol) {
			long += e.Path.Length()
		}
	}
	return long
}

// splitChain cuts an open chain of edges at a point of one of them.
func splitChain(p pattern.Piece, at geom.Point) (first, second []pattern.Edge, err error) {
	for i, e := range p.Edges {
		if e.Role == pattern.RoleDartMouth {
			continue
		}
		_, d, along := e.Path.Nearest(at)
		if d > nearBreak {
			continue
		}
		before, after := e.Path.SplitAt(along)
		first, second = slices.Clone(p.Edges[:i]), nil
		if len(before) > 0 && before.Length() > nearBreak {
			k := e
			k.Path = before
			first = append(first, k)
		}
		if len(after) > 0 && after.Length() > nearBreak {
			k := e
			k.Path = after
			second = append(second, k)
		}
		second = append(second, p.Edges[i+1:]...)
		if len(first) == 0 || len(second) == 0 {
			return nil, nil, newError(p, e.Name, "the dart is already there")
		}
		return first, second, nil
	}
	return nil, nil, newError(p, "", "the point (%.1f, %.1f) does not lie on the outline", at.X, at.Y)
}

// openDart returns the dart with the name, which must be empty or open at an
// edge and have one apex.
func openDart(p pattern.Piece, name string) (pattern.Dart, error) {
	d := p.Dart(name)
	if d == nil {
		var names []string
		for _, k := range p.Darts {
			names = append(names, k.Name)
		}
		return pattern.Dart{}, newError(p, "", "unknown dart %q; the piece has %s", name, strings.Join(names, ", "))
	}
	if d.Empty() {
		return *d, nil
	}
	if d.Mouth == "" || len(d.Apexes) != 1 || p.EdgeIndex(d.Mouth) < 0 {
		return pattern.Dart{}, newError(p, "", "the %s does not open at an edge", name)
	}
	return *d, nil
}

// Undart removes a dart that opens in an edge. The edge is longer by the mouth,
// to be eased or gathered into its seam or left as flare. If fold is more than
// 0 the mouth is folded as a pleat: its ends are notched, and the legs are
// drawn as fold lines, at most fold mm long. A dart inside the piece and an
// empty one are only removed.
func Undart(p pattern.Piece, name string, fold float64) (pattern.Piece, error) {
	d := p.Dart(name)
	if d == nil || d.Mouth != "" {
		open, err := openDart(p, name)
		if err != nil {
			return pattern.Piece{}, err
		}
		d = &open
	}
	q := p
	q.Darts = slices.DeleteFunc(slices.Clone(p.Darts), func(k pattern.Dart) bool { return k.Name == name })
	if d.Mouth == "" {
		return q, nil
	}
	i := p.EdgeIndex(d.Mouth)
	n := len(p.Edges)
	before, after := p.Edges[besideMouth(p, i, n-1)], p.Edges[besideMouth(p, i, 1)]
	if before.Name != after.Name {
		return pattern.Piece{}, newError(p, d.Mouth, "the %s opens between %s and %s; it must open in one edge", name,
			before.Name, after.Name)
	}
	pins := pinsOf(p)
	q.Edges = slices.Clone(p.Edges)
	q.Edges[i] = pattern.Edge{Name: before.Name, Run: before.Run, Role: before.Role,
		Path: p.Edges[i].Path, Allowance: before.Allowance}
	q.Edges = merged(q.Edges)
	if fold > 0 {
		for k, leg := range d.Legs {
			pins = append(pins, pin{before.Name, leg.Start(), pattern.NotchSingle, ""})
			line := leg.Part(0, min(fold, leg.Length()))
			q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: fmt.Sprintf("%s_fold_%d", name, k+1), Path: line})
		}
	}
	return repin(q, pins), nil
}

// EaseDart removes a dart that opens in an edge, to be eased into the seam: the edge is longer by the
// mouth, and one curve from its start to over mm beyond the dart.
func EaseDart(p pattern.Piece, name string, over float64) (pattern.Piece, error) {
	d := p.Dart(name)
	if d == nil || d.Mouth == "" {
		return Undart(p, name, 0)
	}
	mouth := p.Edges[p.EdgeIndex(d.Mouth)].Path
	run := p.Edges[besideMouth(p, p.EdgeIndex(d.Mouth), len(p.Edges)-1)].Name
	q, err := Undart(p, name, 0)
	if err != nil {
		return p, err
	}
	whole := q.Run(run)
	_, _, at := whole.Nearest(mouth.Start())
	end := at + mouth.Length() + over
	if !(over >= 0 && end < whole.Length()-1) {
		return p, newError(p, run, "the %s is eased as far as %.1f mm along it; must be less than its %.1f mm", name, end,
			whole.Length())
	}
	_, rest := whole.SplitAt(end)
	curve, err := geom.Spline([]geom.Point{whole.Start(), rest.Start()}, whole.StartTangent(), rest.StartTangent(), 1)
	if err != nil {
		return p, err
	}
	return Redraw(q, []string{run}, []geom.Path{append(curve, rest...)})
}

// besideMouth returns the index of the nearest edge that is no mouth, step edges from
// one to the next: two pleats that touch have no edge between their mouths.
func besideMouth(p pattern.Piece, i, step int) int {
	for p.Edges[i].Role == pattern.RoleDartMouth {
		i = (i + step) % len(p.Edges)
	}
	return i
}

// AddDart opens a new dart of the width at a position on an edge, sewn to the
// apex. The edge is shorter by the width as sewn. The legs are made equal by
// moving the mouth along the edge.
func AddDart(p pattern.Piece, name string, at Position, width float64, apex geom.Point) (pattern.Piece, error) {
	if p.Dart(name) != nil {
		return pattern.Piece{}, newError(p, "", "the piece already has a dart %q", name)
	}
	e, err := wholeEdge(p, at.Run)
	if err != nil {
		return pattern.Piece{}, err
	}
	length := e.Path.Length()
	lo, hi := at.At-width/2, at.At+width/2
	if !(width > 0) || lo < 1 || hi > length-1 {
		return pattern.Piece{}, newError(p, at.Run, "a dart %.1f mm wide at %.1f mm does not fit on its %.1f mm", width,
			at.At, length)
	}
	if !p.Outline().Contains(apex) {
		return pattern.Piece{}, newError(p, at.Run, "the %s would end outside the piece", name)
	}
	// Shift the mouth until both legs are equal.
	shift := 0.0
	for range 30 {
		a, b := e.Path.At(lo+shift), e.Path.At(hi+shift)
		off := a.Dist(apex) - b.Dist(apex)
		slope := a.Sub(apex).Unit().Dot(e.Path.TangentAt(lo+shift)) - b.Sub(apex).Unit().Dot(e.Path.TangentAt(hi+shift))
		if math.Abs(off) < 1e-6 || slope == 0 {
			break
		}
		shift = max(1-lo, min(length-1-hi, shift-off/slope))
	}
	before, rest := e.Path.SplitAt(lo + shift)
	_, after := rest.SplitAt(hi - lo)
	a, b := before.End(), after.Start()
	if math.Abs(a.Dist(apex)-b.Dist(apex)) > 0.04 {
		return pattern.Piece{}, newError(p, at.Run, "the legs of the %s would differ by %.1f mm", name,
			math.Abs(a.Dist(apex)-b.Dist(apex)))
	}
	pins := pinsOf(p)
	i := p.EdgeIndex(at.Run)
	first, last := e, e
	first.Path, last.Path = before, after
	mouth := newEdge(name+"_mouth", pattern.RoleDartMouth, geom.Path{geom.Line(a, b)})
	q := p
	q.Edges = slices.Concat(p.Edges[:i], []pattern.Edge{first, mouth, last}, p.Edges[i+1:])
	q.Darts = append(slices.Clip(p.Darts), pattern.Dart{Name: name, Mouth: mouth.Name, Apexes: []geom.Point{apex},
		Legs: [2]geom.Path{{geom.Line(a, apex)}, {geom.Line(b, apex)}}})
	return repin(q, pins), nil
}

// AddInnerDart puts an upright dart inside a piece, width mm wide at a point and pointed up mm
// above and down mm below it.
func AddInnerDart(p pattern.Piece, name string, at geom.Point, width, up, down float64) (pattern.Piece, error) {
	if p.Dart(name) != nil {
		return pattern.Piece{}, newError(p, "", "the piece already has a dart %q", name)
	}
	if err := checkDimensions(p, dimension{"width of the dart", width, 2, 120}, dimension{"up", up, 20, pattern.MaxReach},
		dimension{"down", down, 20, pattern.MaxReach}); err != nil {
		return pattern.Piece{}, err
	}
	top, foot := at.Sub(geom.Pt(0, up)), at.Add(geom.Pt(0, down))
	left, right := at.Sub(geom.Pt(width/2, 0)), at.Add(geom.Pt(width/2, 0))
	d := pattern.Dart{Name: name, Apexes: []geom.Point{top, foot},
		Legs: [2]geom.Path{geom.Polyline(top, left, foot), geom.Polyline(top, right, foot)}}
	outline := p.Outline()
	for _, leg := range d.Legs {
		if len(leg.Crossings(outline)) > 0 || !outline.Contains(leg.Start()) {
			return pattern.Piece{}, newError(p, "", "the %s would reach out of the piece", name)
		}
	}
	p.Darts = append(slices.Clip(p.Darts), d)
	return p, nil
}
