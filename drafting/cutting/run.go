package cutting

import (
	"fmt"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// An OpError says why something can't be done to a piece.
type Error struct {
	Piece string
	Edge  string // "" where no single edge is to blame
	Why   string
}

func (e *Error) Error() string {
	if e.Edge == "" {
		return fmt.Sprintf("piece %s: %s", e.Piece, e.Why)
	}
	return fmt.Sprintf("piece %s, edge %s: %s", e.Piece, e.Edge, e.Why)
}

func newError(p pattern.Piece, edge, format string, args ...any) error {
	return &Error{Piece: p.Name, Edge: edge, Why: fmt.Sprintf(format, args...)}
}

// Place is a place on a piece's outline: mm along the run of that name.
type Position struct {
	Run string
	At  float64
}

// nearBreak is how close in mm two cuts of an edge count as the same.
const nearBreak = 0.01

// Loose is the piece with its edges loose: parts that nothing lies between are
// one edge again. Notches that only mark such a part's end are dropped: Assemble
// marks anew what still needs it.
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

// merged makes one edge of neighbours that have the same name.
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

// Numbered gives the parts of an edge names of their own, side_1 and side_2
// along the outline, and carries each notch to the part it falls on. A notch
// within a millimetre of a part's end is left out: the corner or the dart's
// mouth says the same.
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
				q.Notches = append(q.Notches, pattern.Notch{Edge: e.Name, At: n.At, Kind: n.Kind})
			}
			break
		}
	}
	return q
}

func partName(name string, n int) string { return fmt.Sprintf("%s_%d", name, n) }

// checkRun says that the piece has an edge of that name, or which it has.
func checkRun(p pattern.Piece, name string) error {
	if slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool { return e.Name == name && e.Role != pattern.RoleDartMouth }) {
		return nil
	}
	return newError(p, "", "no edge %q; it has %v", name, p.Runs())
}

// PointAt is the place's point on the paper.
func PointAt(p pattern.Piece, at Position) (geom.Point, error) {
	if err := checkRun(p, at.Run); err != nil {
		return geom.Point{}, err
	}
	path := p.Run(at.Run)
	if n := path.Length(); !(at.At >= -nearBreak && at.At <= n+nearBreak) {
		return geom.Point{}, newError(p, at.Run, "%.1f mm along it; it is %.1f mm long", at.At, n)
	}
	return path.At(at.At), nil
}

// split cuts the outline at a place and returns the edges from there all the
// way round to it again.
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

// splitTwo cuts the outline at two places: from a on to b, and from b on to a.
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
		return nil, nil, newError(p, a.Run, "both places are the same")
	}
	for i, e := range edges {
		if e.Name != b.Run {
			continue
		}
		at, d, along := e.Path.Nearest(pb)
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
		_ = at
		x, y := e, e
		x.Path, y.Path = before, after
		return append(slices.Clone(edges[:i]), x), append([]pattern.Edge{y}, edges[i+1:]...), nil
	}
	return nil, nil, newError(p, b.Run, "no place %.1f mm along it", b.At)
}

// outlineOf is the edges' paths one after another.
func outlineOf(edges []pattern.Edge) geom.Path {
	var path geom.Path
	for _, e := range edges {
		path = append(path, e.Path...)
	}
	return path
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
