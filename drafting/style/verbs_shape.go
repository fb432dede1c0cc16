package style

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

var shapeVerbs = []Verb{
	{"Shape", `redraw(piece, edge=path, ...)`,
		`Edges that follow each other drawn anew, each path walked clockwise. The first starts and the last ends on the edge beside it, which is cut back there, or on the straight continuation of that edge, which is carried on.`,
		redraw},
	{"Shape", `drop(piece, edge, neighbour=mm, ...)`,
		`An edge moved along the edges beside it: drop(front, "neckline", centre_front=30, shoulder=15) is 30 mm lower at the centre and 15 mm wider at the shoulder. Below zero it is raised, or a hem made longer. Its shape is stretched between the new ends.`,
		drop},
	{"Shape", `level_to(piece, edge, to, by)`,
		`An edge made exactly as long as to, by moving the edge beside it, named by by: level_to(back, "side", length(front, "side"), "hem").`,
		levelTo},
	{"Shape", `lengthen(piece, at, by)`,
		`The piece slashed straight across the grain, level with the point at, and by mm put in between.`,
		lengthen},
	{"Shape", `slash(piece, (edge, at), (edge, at), by, hinge=0)`,
		`The piece slashed from one place to another and opened: by mm at the first, hinge mm at the second. The part with the fold or the grain stays.`,
		slash},
	{"Shape", `spread(piece, edge, hinge_edge, by, slashes=8, hinge=0)`,
		`The piece slashed evenly from one edge to another; together the slashes add by mm to the first and hinge mm to the second: hinge=by spreads it parallel.`,
		spread},
	{"Shape", `flare(piece, side, hem, by, above)`,
		`The side swung out by mm at the hem, from the place above mm along it; it keeps its length, and the hem is drawn anew, square to it and to its other end.`,
		flare},
	{"Shape", `true_up(piece, edge)`,
		`An edge drawn anew between its ends as one smooth curve, square to the edges beside it: a hem after its sides were flared.`,
		trueUp},
	{"Shape", `extend(piece, edge, by, keep)`,
		`The edge carried out by mm: a button stand or a grown-on wrap. The old edge stays as a line named keep.`,
		extend},
	{"Shape", `fold_out(piece, edge, width, fold)`,
		`A facing grown on: the strip along a straight edge mirrored over it. The edge stays as a line named fold; the facing's edges have facing_ in front of their names.`,
		foldOut},
}

func redraw(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	if err := starlark.UnpackPositionalArgs("redraw", args, nil, 1, &p); err != nil {
		return nil, err
	}
	var runs []string
	var paths []geom.Path
	for _, kv := range kwargs {
		name, _ := starlark.AsString(kv[0])
		q, ok := kv[1].(path)
		if !ok {
			return nil, fmt.Errorf("redraw: for edge %s: got %s, want a path", name, kv[1].Type())
		}
		runs, paths = append(runs, name), append(paths, q.Path)
	}
	q, err := cutting.Redraw(p.Piece, runs, paths)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func drop(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackPositionalArgs("drop", args, nil, 2, &p, &name); err != nil {
		return nil, err
	}
	by := map[string]float64{}
	if err := each(kwargs, func(name string, v float64) error { by[name] = v; return nil }); err != nil {
		return nil, fmt.Errorf("drop: %w", err)
	}
	q, err := cutting.Drop(p.Piece, name, by)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func levelTo(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, by string
	var to mm
	if err := starlark.UnpackArgs("level_to", args, kwargs, "piece", &p, "edge", &name, "to", &to, "by", &by); err != nil {
		return nil, err
	}
	q, err := cutting.Level(p.Piece, name, by, float64(to))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func lengthen(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var at point
	var by mm
	if err := starlark.UnpackArgs("lengthen", args, kwargs, "piece", &p, "at", &at, "by", &by); err != nil {
		return nil, err
	}
	q, err := cutting.Lengthen(p.Piece, geom.Point(at), float64(by))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func slash(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var from, to spot
	var by, hinge mm
	if err := starlark.UnpackArgs("slash", args, kwargs, "piece", &p, "start", &from, "end", &to, "by", &by, "hinge?", &hinge); err != nil {
		return nil, err
	}
	q, err := cutting.Open(p.Piece, from.place(), to.place(), float64(by), float64(hinge))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func spread(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, other string
	var by, hinge mm
	n := 8
	if err := starlark.UnpackArgs("spread", args, kwargs, "piece", &p, "edge", &name, "hinge_edge", &other, "by", &by, "slashes?", &n, "hinge?", &hinge); err != nil {
		return nil, err
	}
	if err := r.spend(200 * max(0, min(n, 64))); err != nil {
		return nil, err
	}
	q, err := cutting.Spread(p.Piece, name, other, n, float64(by), float64(hinge))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func flare(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var side, hem string
	var by, above mm
	if err := starlark.UnpackArgs("flare", args, kwargs, "piece", &p, "side", &side, "hem", &hem, "by", &by, "above", &above); err != nil {
		return nil, err
	}
	q, err := cutting.Flare(p.Piece, side, hem, float64(by), float64(above))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func trueUp(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("true_up", args, kwargs, "piece", &p, "edge", &name); err != nil {
		return nil, err
	}
	q, err := cutting.TrueUp(p.Piece, name)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func extend(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, keep string
	var by mm
	if err := starlark.UnpackArgs("extend", args, kwargs, "piece", &p, "edge", &name, "by", &by, "keep", &keep); err != nil {
		return nil, err
	}
	if !validName(keep) {
		return nil, errBadName(keep)
	}
	q, err := cutting.Extend(p.Piece, name, float64(by), keep)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func foldOut(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, fold string
	var width mm
	if err := starlark.UnpackArgs("fold_out", args, kwargs, "piece", &p, "edge", &name, "width", &width, "fold", &fold); err != nil {
		return nil, err
	}
	if !validName(fold) {
		return nil, errBadName(fold)
	}
	q, err := cutting.FoldOut(p.Piece, name, float64(width), fold)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

// validName reports whether a name can stand in an order file: lower case
// letters, digits and _, a letter first.
func validName(name string) bool {
	if name == "" || len(name) > 40 {
		return false
	}
	for i, c := range name {
		if !(c >= 'a' && c <= 'z' || i > 0 && (c == '_' || c >= '0' && c <= '9')) {
			return false
		}
	}
	return true
}

func errBadName(name string) error {
	return fmt.Errorf("the name %q: lower case letters, digits and _, at most 40", name)
}

var errBoth = errors.New("want one of them")
