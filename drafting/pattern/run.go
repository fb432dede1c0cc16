package pattern

import (
	"fmt"
	"slices"

	"tapeline/drafting/geom"
)

// While a piece is worked on, its edges are loose: an edge that a dart cuts is
// several edges of one Name, in order, and a notch's At runs along all of
// them, the dart's mouth left out. Numbered makes of a loose piece one whose
// edges all have names of their own, as they are handed out.

// An OpError says why something can't be done to a piece.
type OpError struct {
	Piece string
	Edge  string // "" where no single edge is to blame
	Why   string
}

func (e *OpError) Error() string {
	if e.Edge == "" {
		return fmt.Sprintf("piece %s: %s", e.Piece, e.Why)
	}
	return fmt.Sprintf("piece %s, edge %s: %s", e.Piece, e.Edge, e.Why)
}

func (p Piece) fail(edge, format string, args ...any) error {
	return &OpError{Piece: p.Name, Edge: edge, Why: fmt.Sprintf(format, args...)}
}

// Place is a place on a piece's outline: mm along the run of that name.
type Place struct {
	Run string
	At  float64
}

// nearBreak is how close in mm two cuts of an edge count as the same.
const nearBreak = 0.01

// Loose is the piece with its edges loose: parts that nothing lies between are
// one edge again. Notches that only mark such a part's end are dropped: Assemble
// marks anew what still needs it.
func Loose(p Piece) Piece {
	q := p
	q.Notches = nil
	for _, n := range p.Notches {
		i := p.edgeIndex(n.Edge)
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
	q.Edges = make([]Edge, 0, len(p.Edges))
	for _, e := range p.Edges {
		e.Name = e.Run
		q.Edges = append(q.Edges, e)
	}
	q.Edges = merged(q.Edges)
	return q
}

// merged makes one edge of neighbours that have the same name.
func merged(edges []Edge) []Edge {
	out := make([]Edge, 0, len(edges))
	for _, e := range edges {
		if len(e.Path) == 0 {
			continue
		}
		if n := len(out); n > 0 && sameRun(out[n-1], e) {
			out[n-1].Path = tidy(geom.Join(out[n-1].Path, e.Path))
			continue
		}
		out = append(out, e)
	}
	// The outline's first edge may carry its last one on.
	if n := len(out); n > 1 && sameRun(out[n-1], out[0]) {
		out[0].Path = tidy(geom.Join(out[n-1].Path, out[0].Path))
		out = out[:n-1]
	}
	return out
}

func sameRun(a, b Edge) bool {
	return a.Name == b.Name && a.Role == b.Role && a.Role != RoleDartMouth
}

// tidy joins straight lines that carry each other on.
func tidy(path geom.Path) geom.Path {
	out := make(geom.Path, 0, len(path))
	for _, s := range path {
		if n := len(out); n > 0 && s.Straight && out[n-1].Straight {
			a := out[n-1]
			u, v := a.P3.Sub(a.P0), s.P3.Sub(s.P0)
			if u.Dot(v) > 0 && abs(u.Cross(s.P3.Sub(a.P0).Unit())) <= geom.JoinTol {
				out[n-1] = geom.Line(a.P0, s.P3)
				continue
			}
		}
		out = append(out, s)
	}
	return out
}

// Numbered gives the parts of an edge names of their own, side_1 and side_2
// along the outline, and carries each notch to the part it falls on. A notch
// within a millimetre of a part's end is left out: the corner or the dart's
// mouth says the same.
func Numbered(p Piece) Piece {
	q := p
	q.Edges = make([]Edge, len(p.Edges))
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
				q.Notches = append(q.Notches, Notch{Edge: e.Name, At: n.At, Kind: n.Kind})
			}
			break
		}
	}
	return q
}

func partName(name string, n int) string { return fmt.Sprintf("%s_%d", name, n) }

// Run is the edge of that name as one path, its parts one after another; a
// dart's mouth between them is left out. It is empty where the piece has no
// such edge.
func (p Piece) Run(name string) geom.Path {
	var path geom.Path
	for _, e := range p.Edges {
		if e.Run == name || e.Name == name {
			path = append(path, e.Path...)
		}
	}
	return path
}

// RunLength is the length of the edge of that name, its darts sewn.
func (p Piece) RunLength(name string) float64 {
	var sum float64
	for _, e := range p.Edges {
		if e.Run == name || e.Name == name {
			sum += e.Path.Length()
		}
	}
	return sum
}

// Runs are the names of the piece's edges, each once, in the order in which
// they are met along the outline; mouths are left out.
func (p Piece) Runs() []string {
	var names []string
	for _, e := range p.Edges {
		if e.Role != RoleDartMouth && !slices.Contains(names, e.Run) {
			names = append(names, e.Run)
		}
	}
	return names
}

func (p Piece) edgeIndex(name string) int {
	return slices.IndexFunc(p.Edges, func(e Edge) bool { return e.Name == name })
}

// checkRun says that the piece has an edge of that name, or which it has.
func (p Piece) checkRun(name string) error {
	if slices.ContainsFunc(p.Edges, func(e Edge) bool { return e.Name == name && e.Role != RoleDartMouth }) {
		return nil
	}
	return p.fail("", "no edge %q; it has %v", name, p.Runs())
}

// PointAt is the place's point on the paper.
func (p Piece) PointAt(at Place) (geom.Point, error) {
	if err := p.checkRun(at.Run); err != nil {
		return geom.Point{}, err
	}
	path := p.Run(at.Run)
	if n := path.Length(); !(at.At >= -nearBreak && at.At <= n+nearBreak) {
		return geom.Point{}, p.fail(at.Run, "%.1f mm along it; it is %.1f mm long", at.At, n)
	}
	return path.At(at.At), nil
}

// split cuts the outline at a place and returns the edges from there all the
// way round to it again.
func (p Piece) split(at Place) ([]Edge, error) {
	if _, err := p.PointAt(at); err != nil {
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

func rotated(edges []Edge, i int) []Edge {
	return append(slices.Clone(edges[i:]), edges[:i]...)
}

// splitTwo cuts the outline at two places: from a on to b, and from b on to a.
func (p Piece) splitTwo(a, b Place) (first, second []Edge, err error) {
	pb, err := p.PointAt(b)
	if err != nil {
		return nil, nil, err
	}
	edges, err := p.split(a)
	if err != nil {
		return nil, nil, err
	}
	pa := edges[0].Path.Start()
	if pa.Near(pb, nearBreak) {
		return nil, nil, p.fail(a.Run, "both places are the same")
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
		return append(slices.Clone(edges[:i]), x), append([]Edge{y}, edges[i+1:]...), nil
	}
	return nil, nil, p.fail(b.Run, "no place %.1f mm along it", b.At)
}

// outlineOf is the edges' paths one after another.
func outlineOf(edges []Edge) geom.Path {
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
