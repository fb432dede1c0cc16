package pattern

import (
	"slices"

	"tapeline/drafting/geom"
)

// Move returns the piece after a motion of the paper. When the motion mirrors
// it, the outline is walked clockwise again and each dart is pressed the same
// way on the body.
func (p Piece) Move(m geom.Motion) Piece {
	q := p
	over := m.Mirrors()
	q.Edges = make([]Edge, len(p.Edges))
	for i, e := range p.Edges {
		if e.Path = e.Path.Move(m); over {
			e.Path = e.Path.Reverse()
			q.Edges[len(p.Edges)-1-i] = e
			continue
		}
		q.Edges[i] = e
	}
	if over {
		q.Edges = p.likeBefore(q.Edges)
	}
	q.Notches = slices.Clone(p.Notches)
	if over {
		for i, n := range p.Notches {
			q.Notches[i].At = p.RunLength(n.Edge) - n.At
		}
	}
	q.Darts = nil
	for _, d := range p.Darts {
		q.Darts = append(q.Darts, d.Move(m))
	}
	q.Marks = nil
	for _, k := range p.Marks {
		k.At = m.Apply(k.At)
		q.Marks = append(q.Marks, k)
	}
	q.Lines = nil
	for _, l := range p.Lines {
		l.Path = l.Path.Move(m)
		q.Lines = append(q.Lines, l)
	}
	q.Grain = p.Grain.Move(m)
	return q
}

// likeBefore starts a reversed outline with the edge that the piece starts
// with, all its parts first, so that a piece mirrored twice is unchanged.
func (p Piece) likeBefore(edges []Edge) []Edge {
	last := 0
	for i, e := range p.Edges {
		if e.Run == p.Edges[0].Run {
			last = i
		}
	}
	i := len(edges) - 1 - last
	return append(slices.Clone(edges[i:]), edges[:i]...)
}

// Move returns the dart after a motion of the paper, its legs left first.
func (d Dart) Move(m geom.Motion) Dart {
	q := d
	q.Legs = [2]geom.Path{d.Legs[0].Move(m), d.Legs[1].Move(m)}
	if m.Mirrors() {
		q.Legs[0], q.Legs[1] = q.Legs[1], q.Legs[0]
		q.Pressed = 1 - d.Pressed
	}
	q.Apexes = nil
	for _, a := range d.Apexes {
		q.Apexes = append(q.Apexes, m.Apply(a))
	}
	return q
}
