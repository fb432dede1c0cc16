package style

import (
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var cutVerbs = []Verb{
	{"Cut and join", `piece(name, title, edge=path, ...)`,
		`A new piece from its edges, walked clockwise, each path starting where the one before ends. Edges named neckline, armhole or hem, or with a name that starts or ends so, are finished as such; the others are seams.`,
		newPiece},
	{"Cut and join", `cut(piece, path, names, edge, through=[], other=None)`,
		`The piece cut in two along a path from one place of its outline to another; names has the names of both parts, the one clockwise from the path's start to its end first. Both have a new edge, named edge. Darts named in through go into the seam: other is then the path for the second part, and what lies between the two falls away.`,
		cutApart},
	{"Cut and join", `join(a, edge, b, other_edge)`,
		`Piece b moved so that its edge lies on the edge of a, and both made one piece; the edges must have the same shape.`,
		join},
	{"Cut and join", `split(piece, edge, at, first, second)`,
		`An edge made two at mm along it, each with a name of its own: the piece is not cut.`,
		splitEdge},
	{"Cut and join", `copy(piece, name, title)`,
		`The piece again under another name: a lining, or the start of another shape.`,
		copyPiece},
}

// roleByName is what is done with an edge of that name where nothing else is
// said.
func roleByName(name string) pattern.Role {
	for _, role := range [...]pattern.Role{pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleHem} {
		r := string(role)
		if name == r || len(name) > len(r) && (name[:len(r)+1] == r+"_" || name[len(name)-len(r)-1:] == "_"+r) {
			return role
		}
	}
	return pattern.RoleSeam
}

func newPiece(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	if err := starlark.UnpackPositionalArgs("piece", args, nil, 2, &name, &title); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if len(kwargs) < 2 || len(kwargs) > 200 {
		return nil, fmt.Errorf("piece %s: %d edges; 2 to 200", name, len(kwargs))
	}
	for _, kv := range kwargs {
		edge, _ := starlark.AsString(kv[0])
		q, ok := kv[1].(path)
		if !ok || len(q.Path) == 0 {
			return nil, fmt.Errorf("piece %s, edge %s: got %s, want a path", name, edge, kv[1].Type())
		}
		if !validName(edge) {
			return nil, errBadName(edge)
		}
		p.Edges = append(p.Edges, pattern.Edge{Name: edge, Run: edge, Role: roleByName(edge), Path: q.Path})
	}
	for i := range p.Edges {
		e := &p.Edges[i]
		next := &p.Edges[(i+1)%len(p.Edges)]
		if gap := e.Path.End().Dist(next.Path.Start()); gap > 0.05 {
			return nil, fmt.Errorf("piece %s, edge %s: it starts %.2f mm from the end of %s", name, next.Name, gap, e.Name)
		}
		next.Path = next.Path.MoveStart(e.Path.End())
	}
	if outline := p.Outline(); !(outline.Area() > 0) {
		return nil, fmt.Errorf("piece %s: its edges are not walked clockwise", name)
	}
	return &piece{cutting.GrainAlong(p, geom.Pt(0, 1)), false}, nil
}

func cutApart(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var along path
	var both, through names
	var edge string
	var other starlark.Value = starlark.None
	if err := starlark.UnpackArgs("cut", args, kwargs, "piece", &p, "path", &along, "names", &both, "edge", &edge, "through?", &through, "other?", &other); err != nil {
		return nil, err
	}
	if len(both) != 2 || !validName(both[0]) || !validName(both[1]) || !validName(edge) {
		return nil, errors.New("cut: want two names for the parts and one for the edge: lower case letters, digits and _")
	}
	var second geom.Path
	if q, ok := other.(path); ok {
		second = q.Path
	} else if other != starlark.None {
		return nil, fmt.Errorf("cut: for parameter other: got %s, want a path", other.Type())
	}
	if len(along.Path) == 0 {
		return nil, errors.New("cut: an empty path")
	}
	parts, err := cutting.CutApart(p.Piece, along.Path, second, edge, [2]string{both[0], both[1]}, through...)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(parts[0]), p.with(parts[1])}, nil
}

func join(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var a, b *piece
	var edgeA, edgeB string
	if err := starlark.UnpackArgs("join", args, kwargs, "a", &a, "edge", &edgeA, "b", &b, "other_edge", &edgeB); err != nil {
		return nil, err
	}
	q, err := cutting.Join(a.Piece, edgeA, b.Piece, edgeB)
	if err != nil {
		return nil, err
	}
	return a.with(q), nil
}

func splitEdge(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, first, second string
	var at mm
	if err := starlark.UnpackArgs("split", args, kwargs, "piece", &p, "edge", &name, "at", &at, "first", &first, "second", &second); err != nil {
		return nil, err
	}
	for _, n := range [...]string{first, second} {
		if !validName(n) {
			return nil, errBadName(n)
		}
	}
	d := float64(at)
	if d < 0 {
		d += p.RunLength(name)
	}
	q, err := cutting.SplitEdge(p.Piece, cutting.Position{Run: name, At: d}, first, second)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func copyPiece(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, title string
	if err := starlark.UnpackArgs("copy", args, kwargs, "piece", &p, "name", &name, "title", &title); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	q := p.with(p.Piece)
	q.Name, q.Title = name, title
	q.Notes = slices.Clone(p.Notes)
	return q, nil
}
