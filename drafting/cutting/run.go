package cutting

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// An Error says why an operation can't be done on a piece.
type Error struct {
	Piece  string
	Edge   string // "" where no single edge is to blame
	Reason string
}

func (e *Error) Error() string {
	if e.Edge == "" {
		return fmt.Sprintf("piece %s: %s", e.Piece, e.Reason)
	}
	return fmt.Sprintf("piece %s, edge %s: %s", e.Piece, e.Edge, e.Reason)
}

func newError(p pattern.Piece, edge, format string, args ...any) error {
	return &Error{Piece: p.Name, Edge: edge, Reason: fmt.Sprintf(format, args...)}
}

// Position is a position on a piece's outline: At mm along a run.
type Position struct {
	Run string
	At  float64
}

// nearBreak is the distance in mm within which two cuts of an edge count as
// one.
const nearBreak = 0.01

// Loose returns the piece with its edges loose: parts with nothing between them
// are merged. It drops notches that only mark the end of such a part; Assemble
// adds the ones that are still required.
func Loose(p pattern.Piece) pattern.Piece {
	q := p
	q.Notches = nil
	for _, n := range p.Notches {
		i := p.EdgeIndex(n.Edge)
		if i < 0 || n.At < 1 || n.At > p.Edges[i].Path.Length()-1 {
			continue
		}
		for _, e := range p.Edges[:i] {
			if e.Run == p.Edges[i].Run {
				n.At += e.Path.Length()
			}
		}
		n.Edge = p.Edges[i].Run
		q.Notches = append(q.Notches, n)
	}
	q.Edges = make([]pattern.Edge, 0, len(p.Edges))
	for _, e := range p.Edges {
		e.Name = e.Run
		q.Edges = append(q.Edges, e)
	}
	q.Edges = merged(q.Edges)
	return q
}

// merged merges neighbouring edges of one name.
func merged(edges []pattern.Edge) []pattern.Edge {
	out := make([]pattern.Edge, 0, len(edges))
	for _, e := range edges {
		if len(e.Path) == 0 {
			continue
		}
		if n := len(out); n > 0 && sameRun(out[n-1], e) {
			out[n-1].Path = geom.Join(out[n-1].Path, e.Path).MergeLines()
			continue
		}
		out = append(out, e)
	}
	// The outline's first edge may carry its last one on.
	if n := len(out); n > 1 && sameRun(out[n-1], out[0]) {
		out[0].Path = geom.Join(out[n-1].Path, out[0].Path).MergeLines()
		out = out[:n-1]
	}
	return out
}

func sameRun(a, b pattern.Edge) bool {
	return a.Name == b.Name && a.Role == b.Role && a.Role != pattern.RoleDartMouth
}

// Numbered returns the piece with names of their own for the parts of an edge,
// side_1 and side_2 along the outline, and moves each notch to the part it lies
// on. It drops a notch within a millimetre of a part's end, where the corner or
// the dart's mouth marks the same.
func Numbered(p pattern.Piece) pattern.Piece {
	q := p
	q.Edges = make([]pattern.Edge, len(p.Edges))
	count, seen := map[string]int{}, map[string]int{}
	for _, e := range p.Edges {
		count[e.Name]++
	}
	for i, e := range p.Edges {
		e.Run = e.Name
		if count[e.Run] > 1 {
			seen[e.Run]++
			e.Name = partName(e.Run, seen[e.Run])
		}
		q.Edges[i] = e
	}
	q.Notches = nil
	for _, n := range p.Notches {
		for i := range q.Edges {
			e := &q.Edges[i]
			if e.Run != n.Edge {
				continue
			}
			length := e.Path.Length()
			if n.At > length+nearBreak {
				n.At -= length
				continue
			}
			if n.At >= 1 && n.At <= length-1 {
				n.Edge = e.Name
				q.Notches = append(q.Notches, n)
			}
			break
		}
	}
	return q
}

func partName(name string, n int) string { return fmt.Sprintf("%s_%d", name, n) }

// checkRun returns an error that lists the piece's runs if it has no such run.
func checkRun(p pattern.Piece, name string) error {
	if slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool {
		return e.Name == name &&
			e.Role != pattern.RoleDartMouth
	}) {
		return nil
	}
	return newError(p, "", "unknown edge %q; the piece has %s", name, strings.Join(p.Runs(), ", "))
}

// PointAt returns the point of a position on the outline.
func PointAt(p pattern.Piece, at Position) (geom.Point, error) {
	if err := checkRun(p, at.Run); err != nil {
		return geom.Point{}, err
	}
	path := p.Run(at.Run)
	if n := path.Length(); !(at.At >= -nearBreak && at.At <= n+nearBreak) {
		return geom.Point{}, newError(p, at.Run, "a position %.1f mm along it; must be from 0 to %.1f mm", at.At, n)
	}
	return path.At(at.At), nil
}

// split cuts the outline at a position and returns the edges from there all the
// way round to it.
func split(p pattern.Piece, at Position) ([]pattern.Edge, error) {
	if _, err := PointAt(p, at); err != nil {
		return nil, err
	}
	left := at.At
	last := -1
	for i, e := range p.Edges {
		if e.Name != at.Run {
			continue
		}
		n := e.Path.Length()
		if left < nearBreak {
			return rotated(p.Edges, i), nil
		}
		if left < n-nearBreak {
			a, b := e.Path.SplitAt(left)
			edges := slices.Clone(p.Edges[:i])
			first, second := e, e
			first.Path, second.Path = a, b
			edges = append(edges, first, second)
			edges = append(edges, p.Edges[i+1:]...)
			return rotated(edges, i+1), nil
		}
		left -= n
		last = i
		if left < nearBreak {
			break
		}
	}
	return rotated(p.Edges, (last+1)%len(p.Edges)), nil
}

func rotated(edges []pattern.Edge, i int) []pattern.Edge {
	return append(slices.Clone(edges[i:]), edges[:i]...)
}

// splitTwo cuts the outline at two positions: from a to b, and from b to a.
func splitTwo(p pattern.Piece, a, b Position) (first, second []pattern.Edge, err error) {
	pb, err := PointAt(p, b)
	if err != nil {
		return nil, nil, err
	}
	edges, err := split(p, a)
	if err != nil {
		return nil, nil, err
	}
	pa := edges[0].Path.Start()
	if pa.Near(pb, nearBreak) {
		return nil, nil, newError(p, a.Run, "both positions are the same")
	}
	for i, e := range edges {
		if e.Name != b.Run {
			continue
		}
		_, d, along := e.Path.Nearest(pb)
		if d > nearBreak {
			continue
		}
		n := e.Path.Length()
		switch {
		case along < nearBreak:
			if i == 0 {
				continue
			}
			return edges[:i:i], edges[i:], nil
		case along > n-nearBreak:
			if i == len(edges)-1 {
				continue
			}
			return edges[: i+1 : i+1], edges[i+1:], nil
		}
		before, after := e.Path.SplitAt(along)
		x, y := e, e
		x.Path, y.Path = before, after
		return append(slices.Clone(edges[:i]), x), append([]pattern.Edge{y}, edges[i+1:]...), nil
	}
	return nil, nil, newError(p, b.Run, "a position %.1f mm along it, which does not lie on the outline", b.At)
}
