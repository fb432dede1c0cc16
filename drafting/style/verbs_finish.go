package style

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var finishVerbs = []Verb{
	{"Finish", `allow(piece, edge=mm, ...)`,
		`The allowance of single edges. All others have what the head says for their kind: seam, hem, neckline, armhole, cap, edge, or default.`,
		allow},
	{"Finish", `role(piece, edge="hem", ...)`,
		`What is done with an edge: seam, hem, neckline, armhole, cap, or edge for one that is neatened by itself.`,
		setRole},
	{"Finish", `on_fold(piece, edge)`,
		`The piece cut once on the fold of the cloth along a straight edge.`,
		onFold},
	{"Finish", `off_fold(piece, edge)`,
		`An edge on the fold made a seam: the piece is cut as a pair.`,
		offFold},
	{"Finish", `cutting(piece, count=None, pair=None, cloth=None, interfacing=None, note=None)`,
		`How often the piece is cut, whether as left and right, from which cloth if not the main one ("lining", "rib"), how often from interfacing as well, and a note lettered on it.`,
		cuttingVerb},
	{"Finish", `notch(piece, edge, at, double=False)`,
		`A notch at mm along an edge (below zero, from its end). On an edge in a seam the other side gets its mate.`,
		notch},
	{"Finish", `clear_notches(piece, edge, ...)`,
		`The piece without the notches of these edges.`,
		clearNotches},
	{"Finish", `drill(piece, name, at)`,
		`A hole drilled at a point: a pocket's corner, a button's place.`,
		drill},
	{"Finish", `draw(piece, name, path)`,
		`A line drawn inside the piece: a fold, a place to sew something on. Each line of a piece has a name of its own.`,
		drawLine},
	{"Finish", `grain(piece, direction, through=None)`,
		`The grain line along a direction, degrees or a word, through a point of the piece.`,
		grain},
}

// changed is the piece with its edges ready to be written to.
func (p *piece) changed() *piece {
	q := p.with(p.Piece)
	q.Edges = slices.Clone(p.Edges)
	return q
}

// eachEdge calls f for the parts of an edge.
func (p *piece) eachEdge(name string, f func(e *pattern.Edge)) error {
	found := false
	for i := range p.Edges {
		if e := &p.Edges[i]; e.Name == name && e.Role != pattern.RoleDartMouth {
			f(e)
			found = true
		}
	}
	if !found {
		return fmt.Errorf("piece %s: no edge %q; it has %v", p.Name, name, p.Runs())
	}
	return nil
}

func allow(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	if err := starlark.UnpackPositionalArgs("allow", args, nil, 1, &p); err != nil {
		return nil, err
	}
	q := p.changed()
	err := each(kwargs, func(name string, v float64) error {
		if !(v >= 0 && v <= finish.MaxAllowance) {
			return fmt.Errorf("allow: %s=%g; from 0 to %g mm", name, v, finish.MaxAllowance)
		}
		return q.eachEdge(name, func(e *pattern.Edge) { e.Allowance = &v })
	})
	return q, err
}

var settableRoles = []pattern.Role{pattern.RoleSeam, pattern.RoleHem, pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleCap, pattern.RoleEdge}

func setRole(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	if err := starlark.UnpackPositionalArgs("role", args, nil, 1, &p); err != nil {
		return nil, err
	}
	q := p.changed()
	for _, kv := range kwargs {
		name, _ := starlark.AsString(kv[0])
		word, _ := starlark.AsString(kv[1])
		role := pattern.Role(word)
		if !slices.Contains(settableRoles, role) {
			return nil, fmt.Errorf("role: %s=%v; want one of %v", name, kv[1], settableRoles)
		}
		if err := q.eachEdge(name, func(e *pattern.Edge) { e.Role = role }); err != nil {
			return nil, err
		}
	}
	return q, nil
}

func onFold(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	return fold("on_fold", args, kwargs, pattern.RoleFold, pattern.Cut{Count: 1, OnFold: true})
}

func offFold(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	return fold("off_fold", args, kwargs, pattern.RoleSeam, pattern.Cut{Count: 2, Pair: true})
}

func fold(verb string, args starlark.Tuple, kwargs []starlark.Tuple, role pattern.Role, c pattern.Cut) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs(verb, args, kwargs, "piece", &p, "edge", &name); err != nil {
		return nil, err
	}
	q := p.changed()
	q.Cut = c
	return q, q.eachEdge(name, func(e *pattern.Edge) { e.Role = role })
}

func cuttingVerb(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var count, pair, cloth, interfacing, note starlark.Value = starlark.None, starlark.None, starlark.None, starlark.None, starlark.None
	if err := starlark.UnpackArgs("cutting", args, kwargs, "piece", &p, "count?", &count, "pair?", &pair, "cloth?", &cloth, "interfacing?", &interfacing, "note?", &note); err != nil {
		return nil, err
	}
	q := p.changed()
	whole := func(name string, v starlark.Value, least int, to *int) error {
		if v == starlark.None {
			return nil
		}
		n, err := starlark.AsInt32(v)
		if err != nil || n < least || n > 40 {
			return fmt.Errorf("cutting: %s=%v; a whole number from %d to 40", name, v, least)
		}
		*to = n
		return nil
	}
	if err := whole("count", count, 1, &q.Cut.Count); err != nil {
		return nil, err
	}
	if count != starlark.None && pair == starlark.None {
		q.Cut.Pair = q.Cut.Pair && q.Cut.Count%2 == 0
	}
	if pair != starlark.None {
		q.Cut.Pair = bool(pair.Truth())
	}
	if err := whole("interfacing", interfacing, 0, &q.Interfacing); err != nil {
		return nil, err
	}
	if cloth != starlark.None {
		s, ok := starlark.AsString(cloth)
		if !ok || len(s) > 40 {
			return nil, fmt.Errorf("cutting: cloth=%v; a short text", cloth)
		}
		if q.Cloth = s; s == "main" {
			q.Cloth = ""
		}
	}
	if note != starlark.None {
		s, ok := starlark.AsString(note)
		if !ok || len(s) > 200 || len(q.Notes) >= 6 {
			return nil, fmt.Errorf("cutting: note: a text of at most 200 bytes, at most 6 on a piece")
		}
		q.Notes = append(slices.Clip(q.Notes), strings.TrimSpace(s))
	}
	return q, nil
}

func notch(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	var at mm
	var double bool
	if err := starlark.UnpackArgs("notch", args, kwargs, "piece", &p, "edge", &name, "at", &at, "double?", &double); err != nil {
		return nil, err
	}
	n := p.RunLength(name)
	d := float64(at)
	if d < 0 {
		d += n
	}
	if n == 0 {
		_, err := edgePath(p, name)
		return nil, err
	}
	if d < 0 || d > n {
		return nil, fmt.Errorf("piece %s, edge %s: a notch at %.1f mm of its %.1f", p.Name, name, float64(at), n)
	}
	kind := pattern.NotchSingle
	if double {
		kind = pattern.NotchDouble
	}
	q := p.with(p.Piece)
	q.Notches = append(slices.Clip(p.Notches), pattern.Notch{Edge: name, At: d, Kind: kind})
	return q, nil
}

func clearNotches(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	if len(args) < 2 || len(kwargs) > 0 {
		return nil, fmt.Errorf("clear_notches: want (piece, edge, ...)")
	}
	var p *piece
	if err := starlark.UnpackPositionalArgs("clear_notches", args[:1], nil, 1, &p); err != nil {
		return nil, err
	}
	q := p.with(p.Piece)
	q.Notches = slices.Clone(p.Notches)
	for _, a := range args[1:] {
		name, ok := starlark.AsString(a)
		if !ok {
			return nil, fmt.Errorf("clear_notches: got %s, want an edge's name", a.Type())
		}
		if _, err := edgePath(p, name); err != nil {
			return nil, err
		}
		q.Notches = slices.DeleteFunc(q.Notches, func(n pattern.Notch) bool { return n.Edge == name })
	}
	return q, nil
}

func drill(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	var at point
	if err := starlark.UnpackArgs("drill", args, kwargs, "piece", &p, "name", &name, "at", &at); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	if !p.Outline().Contains(geom.Point(at)) {
		return nil, fmt.Errorf("piece %s: the hole %s would lie outside it", p.Name, name)
	}
	q := p.with(p.Piece)
	q.Marks = append(slices.Clip(p.Marks), pattern.Mark{Name: name, Kind: pattern.MarkDrill, At: geom.Point(at)})
	return q, nil
}

func drawLine(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	var l path
	if err := starlark.UnpackArgs("draw", args, kwargs, "piece", &p, "name", &name, "path", &l); err != nil {
		return nil, err
	}
	if !validName(name) || len(l.Path) == 0 {
		return nil, errBadName(name)
	}
	if slices.ContainsFunc(p.Lines, func(k pattern.Line) bool { return k.Name == name }) {
		return nil, fmt.Errorf("draw: piece %s has a line %s already; give this one a name of its own", p.Name, name)
	}
	q := p.with(p.Piece)
	q.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: name, Path: l.Path})
	return q, nil
}

func grain(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var d direction
	var through starlark.Value = starlark.None
	if err := starlark.UnpackArgs("grain", args, kwargs, "piece", &p, "direction", &d, "through?", &through); err != nil {
		return nil, err
	}
	if !d.given {
		return nil, fmt.Errorf("grain: in which direction?")
	}
	if through != starlark.None {
		at, ok := through.(point)
		if !ok || !p.Outline().Contains(geom.Point(at)) {
			return nil, fmt.Errorf("grain: through=%v; a point inside the piece %s", through, p.Name)
		}
		return p.with(cutting.GrainThrough(p.Piece, d.unit, geom.Point(at))), nil
	}
	return p.with(cutting.GrainAlong(p.Piece, d.unit)), nil
}
