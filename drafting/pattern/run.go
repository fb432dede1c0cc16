package pattern

import (
	"slices"

	"tapeline/drafting/geom"
)

// Outline returns the piece's closed seam line, clockwise.
func (p Piece) Outline() geom.Path {
	n := 0
	for i := range p.Edges {
		n += len(p.Edges[i].Path)
	}
	path := make(geom.Path, 0, n)
	for i := range p.Edges {
		path = append(path, p.Edges[i].Path...)
	}
	return path
}

// EdgeIndex returns the index of the edge with the name, -1 if there is none.
func (p Piece) EdgeIndex(name string) int {
	return slices.IndexFunc(p.Edges, func(e Edge) bool { return e.Name == name })
}

// Edge returns the edge with the name.
func (p Piece) Edge(name string) (Edge, bool) {
	if i := p.EdgeIndex(name); i >= 0 {
		return p.Edges[i], true
	}
	return Edge{}, false
}

// Dart returns the dart with the name, nil if there is none.
func (p Piece) Dart(name string) *Dart {
	for i := range p.Darts {
		if p.Darts[i].Name == name {
			return &p.Darts[i]
		}
	}
	return nil
}

// HasFold reports whether an edge of the piece lies on the fold of the cloth.
func (p Piece) HasFold() bool {
	return slices.ContainsFunc(p.Edges, func(e Edge) bool { return e.Role == RoleFold })
}

// Folds returns the straight runs of the outline that lie on the fold, from end
// to end.
func (p Piece) Folds() []geom.Segment {
	var folds []geom.Segment
	for i, e := range p.Edges {
		if e.Role != RoleFold {
			continue
		}
		s := geom.Line(e.Path.Start(), e.Path.End())
		if n := len(folds); n > 0 && p.Edges[i-1].Role == RoleFold && folds[n-1].ContinuedBy(s) {
			folds[n-1] = geom.Line(folds[n-1].P0, s.P3)
		} else {
			folds = append(folds, s)
		}
	}
	return folds
}

// FoldLines returns one fold for each line about which the piece is folded: two
// folds of a piece in quarters, one of two folds in one line.
func (p Piece) FoldLines() []geom.Segment {
	var lines []geom.Segment
	for _, s := range p.Folds() {
		same := func(l geom.Segment) bool {
			return geom.Polyline(s.P0, l.P0, s.P3).IsStraight(0.1) && geom.Polyline(s.P0, l.P3, s.P3).IsStraight(0.1)
		}
		if !slices.ContainsFunc(lines, same) {
			lines = append(lines, s)
		}
	}
	return lines
}

// Run returns the parts of a run one after another as one path, without the
// mouth of a dart between them. It is empty if the piece has no such run.
func (p Piece) Run(name string) geom.Path {
	var path geom.Path
	for _, e := range p.Edges {
		if e.Run == name || e.Name == name {
			path = append(path, e.Path...)
		}
	}
	return path
}

// RunLength returns the length of a run in mm, its darts sewn.
func (p Piece) RunLength(name string) float64 {
	var sum float64
	for _, e := range p.Edges {
		if e.Run == name || e.Name == name {
			sum += e.Path.Length()
		}
	}
	return sum
}

// Runs returns the names of the piece's runs in their order along the outline,
// without the mouths of darts.
func (p Piece) Runs() []string {
	var names []string
	for _, e := range p.Edges {
		if e.Role != RoleDartMouth && !slices.Contains(names, e.Run) {
			names = append(names, e.Run)
		}
	}
	return names
}

// EmptyDart returns a dart that takes up no cloth, from a point of the outline
// to its apex: a dart that a piece has by name although this body does not need
// it. It can be moved, removed and cut through like any other; nothing is sewn,
// and a finished piece is without it.
func EmptyDart(name string, at, apex geom.Point) Dart {
	leg := geom.Path{geom.Line(at, apex)}
	return Dart{Name: name, Legs: [2]geom.Path{leg, leg}, Apexes: []geom.Point{apex}}
}

// Empty reports whether the dart takes up no cloth.
func (d Dart) Empty() bool { return d.Mouth == "" && slices.Equal(d.Legs[0], d.Legs[1]) }

// Intake returns the width of the dart in mm where it is widest: at its mouth,
// or between its ends. An empty dart has none.
func (d Dart) Intake() float64 {
	if len(d.Legs[0]) == 0 || len(d.Legs[0]) != len(d.Legs[1]) {
		return 0
	}
	widest := d.Legs[0].Start().Dist(d.Legs[1].Start())
	for i, s := range d.Legs[0] {
		widest = max(widest, s.P3.Dist(d.Legs[1][i].P3))
	}
	return widest
}

// HoldsDart reports whether a dart lies inside the outline and its mouth, if it
// has one, is an edge of the piece. A piece holds an empty dart if it holds its
// apex.
func (p Piece) HoldsDart(d Dart) bool {
	if d.Mouth != "" && p.EdgeIndex(d.Mouth) < 0 {
		return false
	}
	outline := p.Outline()
	inside := func(at geom.Point) bool {
		if outline.Contains(at) {
			return true
		}
		_, off, _ := outline.Nearest(at)
		return off <= FoldTol
	}
	if d.Empty() {
		return inside(d.Apexes[0])
	}
	for _, leg := range d.Legs {
		for _, s := range leg {
			if !inside(s.P0) || !inside(s.At(0.5)) || !inside(s.P3) {
				return false
			}
		}
	}
	return !slices.ContainsFunc(d.Apexes, func(a geom.Point) bool { return !inside(a) })
}

// Piece returns the piece with the name.
func (p Pattern) Piece(name string) (Piece, bool) {
	for _, q := range p.Pieces {
		if q.Name == name {
			return q, true
		}
	}
	return Piece{}, false
}
