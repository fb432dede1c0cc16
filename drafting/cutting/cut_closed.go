package cutting

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	// leastRemnant is the least width in mm of a dart that is left below a cut: the point of a narrower
	// one is raised to the cut.
	leastRemnant = 3.0
	// mostLowered is how far in mm the point of a dart is lowered to a cut (from memory: a yoke or a
	// waistband takes darts that end near it).
	mostLowered = 60.0
)

// A closing is a dart that is closed in one part of a cut piece.
type closing struct {
	dart    pattern.Dart // as it is closed: its point is that of the whole dart, or lies on the cut
	from    float64      // mm along the cut to where it leaves the dart's second leg, walked to the first
	to      float64      // and to the first leg
	down    float64      // mm along each leg to the cut
	remnant bool         // the dart goes on below the cut
}

// CutClosed cuts a piece in two along a path, as CutApart does, and closes darts in the part
// that has their mouths, for a yoke or a shaped waistband. What is left of a dart beyond
// the cut is a dart in the other part's new edge. A dart that ends just before the cut, or so
// close behind it that less than 3 mm of its width is left, ends on the cut.
//
// Where the path meets the legs of a dart at different distances from its mouth, it is moved
// to their mean, so that the legs close. Both new edges, and the edge in which a dart opened,
// are redrawn to run on where a dart is closed. The new edges pair to the length; one
// that meets a dart's point is redrawn on the closed part only and may change by a tenth of a
// millimetre on each side.
func CutClosed(p pattern.Piece, path geom.Path, edge string, names [2]string,
	closed []string) ([2]pattern.Piece, error) {
	var none [2]pattern.Piece
	if err := pattern.CheckPath(path); err != nil {
		return none, newError(p, edge, "the cut %v", err)
	}
	var darts []pattern.Dart
	for _, name := range closed {
		d, err := openDart(p, name)
		if err != nil {
			return none, err
		}
		if !d.Empty() {
			darts = append(darts, d)
		}
	}
	if len(darts) == 0 {
		return CutApart(p, path, nil, edge, names)
	}
	upper, err := edgesBetween(p, path.Start(), path.End())
	if err != nil {
		return none, err
	}
	lower, err := edgesBetween(p, path.End(), path.Start())
	if err != nil {
		return none, err
	}
	along, first := path.Reverse(), 0
	if !opensIn(upper, darts[0]) {
		upper, lower, along, first = lower, upper, path, 1
	}
	for _, d := range darts {
		if !opensIn(upper, d) {
			return none, newError(p, d.Mouth, "the %s opens on the other side of the cut than the %s; darts to close must "+
				"open on one side", d.Name, darts[0].Name)
		}
	}
	c := closedCut{whole: p, edge: edge, upper: upper, lower: lower}
	if err := c.divide(along, darts); err != nil {
		return none, err
	}
	var parts [2]pattern.Piece
	parts[first], parts[1-first] = c.shutPart(names[first]), c.otherPart(names[1-first])
	parts[1].Notches = withoutMates(parts[1], parts[0])
	rest := slices.DeleteFunc(slices.Clone(p.Darts), func(d pattern.Dart) bool { return slices.Contains(closed, d.Name) })
	return parts, crossed(rest, parts, p, edge)
}

// opensIn reports whether a dart opens in a chain of edges.
func opensIn(edges []pattern.Edge, d pattern.Dart) bool {
	return slices.ContainsFunc(edges, func(e pattern.Edge) bool { return e.Name == d.Mouth })
}

// closedCut is a cut on which darts are closed. The upper chain of edges has their mouths; the
// cut is walked from its end back to its start.
type closedCut struct {
	whole        pattern.Piece
	edge         string
	upper, lower []pattern.Edge
	closings     []closing   // in the order of the cut
	shut, other  []geom.Path // the cut between the darts, for the part that is closed and for the other
}

// divide finds where the cut meets the darts and draws it between them.
func (c *closedCut) divide(along geom.Path, darts []pattern.Dart) error {
	for _, d := range darts {
		k, err := c.meet(along, d)
		if err != nil {
			return err
		}
		c.closings = append(c.closings, k)
	}
	slices.SortFunc(c.closings, func(a, b closing) int { return cmp.Compare(a.from, b.from) })
	if err := c.checkMouths(); err != nil {
		return err
	}
	closed := pattern.Piece{Edges: c.upper}
	for _, k := range c.closings {
		closed.Darts = append(closed.Darts, k.dart)
	}
	c.upper = TrueDarts(closed).Edges
	at, start := 0.0, c.upper[len(c.upper)-1].Path.End()
	for i, k := range c.closings {
		if k.from < at+leastRest || k.to < k.from {
			return newError(c.whole, c.edge, "the %s does not lie beside its neighbours along the cut", k.dart.Name)
		}
		c.shut = append(c.shut, along.Part(at, k.from).Stretch(start, k.dart.Legs[1].At(k.down)))
		at, start = k.to, k.dart.Legs[0].At(k.down)
		if i == len(c.closings)-1 && along.Length()-at < leastRest {
			return newError(c.whole, c.edge, "the %s lies at the end of the cut", k.dart.Name)
		}
	}
	c.shut = append(c.shut, along.Part(at, along.Length()).Stretch(start, c.upper[0].Path.Start()))
	c.other = slices.Clone(c.shut)
	for i, k := range c.closings {
		runOn(&c.shut[i], &c.shut[i+1], k.dart)
		if k.remnant {
			runOn(&c.other[i], &c.other[i+1], k.dart)
		}
	}
	return nil
}

// checkMouths requires the darts to open in the order in which the cut meets them, with some of
// the edge on both sides of each.
func (c *closedCut) checkMouths() error {
	n := len(c.closings)
	place := -1
	for i := range c.closings {
		d := c.closings[n-1-i].dart
		k := slices.IndexFunc(c.upper, func(e pattern.Edge) bool { return e.Name == d.Mouth })
		switch {
		case k < place:
			return newError(c.whole, d.Mouth, "the %s crosses another dart before the cut", d.Name)
		case k == place+1, k == len(c.upper)-1:
			return newError(c.whole, d.Mouth, "the %s opens at an end of the cut or at another dart; it must open inside an "+
				"edge", d.Name)
		}
		place = k
	}
	return nil
}

// meet returns where a cut meets a dart.
func (c *closedCut) meet(along geom.Path, d pattern.Dart) (closing, error) {
	var found [2][]geom.Crossing
	for i, leg := range d.Legs {
		found[i] = leg.Crossings(along)
	}
	a, b := found[0], found[1]
	if len(a) == 1 && len(b) == 1 {
		k := closing{dart: d, from: b[0].B, to: a[0].B, down: (a[0].A + b[0].A) / 2, remnant: true}
		if d.Legs[0].At(k.down).Dist(d.Legs[1].At(k.down)) >= leastRemnant {
			return k, nil
		}
	} else if len(a)+len(b) > 0 {
		return closing{}, newError(c.whole, c.edge, "the cut meets the legs of the %s %d and %d times; must meet each once, "+
			"or pass the point", d.Name, len(a), len(b))
	}
	// The dart ends on the cut.
	apex, middle := d.Apexes[0], d.Legs[0].Start().Lerp(d.Legs[1].Start(), 0.5)
	way := apex.Sub(middle).Unit()
	met := geom.Polyline(middle, apex.Add(way.Mul(pattern.MaxReach/2))).Crossings(along)
	if len(met) == 0 {
		return closing{}, newError(c.whole, c.edge, "the cut does not pass the %s, which is to be closed", d.Name)
	}
	if below := met[0].At.Sub(apex).Dot(way); below > mostLowered {
		return closing{}, newError(c.whole, c.edge, "the %s ends %.1f mm before the cut; at most %g mm, by which its point "+
			"is moved to the cut", d.Name, below, mostLowered)
	}
	for i := range d.Legs {
		d.Legs[i] = geom.Polyline(d.Legs[i].Start(), met[0].At)
	}
	d.Apexes = []geom.Point{met[0].At}
	return closing{dart: d, from: met[0].B, to: met[0].B, down: d.Legs[0].Length()}, nil
}

// runOn redraws the end of one path and the start of the next so that they run on when the
// dart between them is closed.
func runOn(before, after *geom.Path, d pattern.Dart) {
	angle := geom.AngleBetween(d.Legs[0].StartTangent(), d.Legs[1].StartTangent())
	turn := geom.AngleBetween(before.EndTangent(), after.StartTangent().Rotate(geom.Point{}, angle))
	if math.Abs(turn) < leastTurn {
		return
	}
	*before = startAlong(before.Reverse(), before.EndTangent().Rotate(geom.Point{}, turn/2).Neg()).Reverse()
	*after = startAlong(*after, after.StartTangent().Rotate(geom.Point{}, -turn/2))
}

// otherPart returns the part without the mouths: the darts go on in its new edge.
func (c *closedCut) otherPart(name string) pattern.Piece {
	q := c.whole
	q.Name, q.Edges = name, slices.Clone(c.lower)
	whole := c.whole
	whole.Darts = slices.DeleteFunc(slices.Clone(c.whole.Darts), func(d pattern.Dart) bool {
		return slices.ContainsFunc(c.closings, func(k closing) bool { return k.dart.Name == d.Name })
	})
	for i := len(c.other) - 1; i >= 0; i-- {
		q.Edges = append(q.Edges, newEdge(c.edge, pattern.RoleSeam, c.other[i].Reverse()))
		if i == 0 || !c.closings[i-1].remnant {
			continue
		}
		k := c.closings[i-1]
		d := k.dart
		for j, leg := range d.Legs {
			d.Legs[j] = leg.Part(k.down, leg.Length())
		}
		q.Edges = append(q.Edges, newEdge(d.Mouth, pattern.RoleDartMouth,
			geom.Polyline(d.Legs[0].Start(), d.Legs[1].Start())))
		whole.Darts = append(whole.Darts, d)
	}
	q.Edges = joined(q.Edges)
	return cutOf(c.whole, keepInside(q, whole))
}

// joined merges the edges of one name that meet, each starting where the one before ends.
func joined(edges []pattern.Edge) []pattern.Edge {
	for i := range edges {
		next := &edges[(i+1)%len(edges)]
		next.Path = next.Path.MoveStart(edges[i].Path.End())
	}
	return merged(edges)
}

// sector is what of the closed part lies between two darts.
type sector struct {
	piece pattern.Piece
	edges []pattern.Edge // of the outline
	cut   geom.Path
	moved geom.Motion
}

// shutPart returns the part with the mouths, its darts closed.
func (c *closedCut) shutPart(name string) pattern.Piece {
	sectors := c.sectors()
	fixed := c.fixed(sectors)
	legs := func(i int) (a, b geom.Segment) { // of the dart between sectors i and i+1
		k := c.closings[len(c.closings)-1-i]
		a, b = geom.Line(k.dart.Legs[0].Start(), k.dart.Legs[0].At(k.down)), geom.Line(k.dart.Legs[1].Start(),
			k.dart.Legs[1].At(k.down))
		return a, b
	}
	onto := func(s, t geom.Segment, m geom.Motion) geom.Motion {
		return Onto(s.P0, s.P3, m.Apply(t.P0), m.Apply(t.P3), false)
	}
	sectors[fixed].moved = geom.Still
	for i := fixed + 1; i < len(sectors); i++ {
		a, b := legs(i - 1)
		sectors[i].moved = onto(b, a, sectors[i-1].moved)
	}
	for i := fixed - 1; i >= 0; i-- {
		a, b := legs(i)
		sectors[i].moved = onto(a, b, sectors[i+1].moved)
	}
	q := c.whole
	q.Name, q.Edges, q.Darts, q.Marks, q.Lines = name, nil, nil, nil, nil
	var pins []pin
	for _, s := range sectors {
		for _, e := range s.edges {
			e.Path = e.Path.Move(s.moved)
			q.Edges = append(q.Edges, e)
		}
		moved := s.piece.Move(s.moved)
		pins = append(pins, pinsOf(moved)...)
		q.Darts, q.Marks = append(q.Darts, moved.Darts...), append(q.Marks, moved.Marks...)
		for _, l := range moved.Lines {
			q.Lines = joinLine(q.Lines, l)
		}
	}
	for i := len(sectors) - 1; i >= 0; i-- {
		q.Edges = append(q.Edges, newEdge(c.edge, pattern.RoleSeam, sectors[i].cut.Move(sectors[i].moved)))
	}
	q.Edges = joined(q.Edges)
	q = repin(q, pins)
	q.Grain = fitGrain(q, c.whole.Grain)
	return cutOf(c.whole, q)
}

// sectors returns the sectors in the order of the outline.
func (c *closedCut) sectors() []sector {
	n := len(c.closings)
	all := make([]sector, n+1)
	i := 0
	for _, e := range c.upper {
		if i < n && e.Name == c.closings[n-1-i].dart.Mouth {
			i++
			continue
		}
		all[i].edges = append(all[i].edges, e)
	}
	whole := c.whole
	whole.Darts = slices.DeleteFunc(slices.Clone(whole.Darts), func(d pattern.Dart) bool {
		return slices.ContainsFunc(c.closings, func(k closing) bool { return k.dart.Name == d.Name })
	})
	for i := range all {
		s := &all[i]
		s.cut = c.shut[n-i]
		q := whole
		q.Edges = slices.Clone(s.edges)
		end, start := q.Edges[len(q.Edges)-1].Path.End(), q.Edges[0].Path.Start()
		if i < n {
			q.Edges = append(q.Edges, newEdge("", pattern.RoleSeam, geom.Polyline(end, s.cut.Start())))
		}
		q.Edges = append(q.Edges, newEdge(c.edge, pattern.RoleSeam, s.cut))
		if i > 0 {
			q.Edges = append(q.Edges, newEdge("", pattern.RoleSeam, geom.Polyline(s.cut.End(), start)))
		}
		s.piece = keepInside(q, whole)
	}
	return all
}

// fixed returns the index of the sector that keeps its place: the one with the fold or with a
// centre seam along the grain or, without them, the one that is nearest to the grain.
func (c *closedCut) fixed(sectors []sector) int {
	best, found := math.Inf(1), 0
	for i, s := range sectors {
		if s.piece.HasFold() || centreAlong(c.whole, s.edges) > 0 {
			return i
		}
		outline, at := s.piece.Outline(), c.whole.Grain.At(0.5)
		_, off, _ := outline.Nearest(at)
		if outline.Contains(at) {
			off = 0
		}
		if off < best {
			best, found = off, i
		}
	}
	return found
}
