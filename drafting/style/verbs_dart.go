package style

import (
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var dartVerbs = []Verb{
	{"Darts", `move_dart(piece, dart, edge, at=mm, part=fraction, about=None)`,
		`A dart closed where it is and opened at another place of the outline, turned about a point: the bust point if the piece has one, or the dart's own. Every seam keeps its length.`,
		moveDart},
	{"Darts", `undart(piece, dart, fold=0)`,
		`A dart given up: its mouth becomes part of the edge, as ease, gathers or flare. With fold=mm it is folded as a pleat: its ends are notched and its fold lines drawn in that long.`,
		undart},
	{"Darts", `dart(piece, name, edge, at, width, to)`,
		`A new dart, so many mm wide, with its middle at mm along an edge, sewn to the point to.`,
		newDart},
}

func moveDart(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, edge string
	var at, part maybe
	var about starlark.Value = starlark.None
	if err := starlark.UnpackArgs("move_dart", args, kwargs, "piece", &p, "dart", &name, "edge", &edge, "at?", &at, "part?", &part, "about?", &about); err != nil {
		return nil, err
	}
	if at.given == part.given {
		return nil, fmt.Errorf("move_dart: at=mm or part=fraction: %w", errBoth)
	}
	d := at.value
	if part.given {
		d = part.value * p.RunLength(edge)
	}
	var pivot geom.Point
	if about == starlark.None {
		q, err := pivotOf(p, name)
		if err != nil {
			return nil, err
		}
		pivot = q
	} else if q, ok := about.(point); ok {
		pivot = geom.Point(q)
	} else {
		return nil, fmt.Errorf("move_dart: for parameter about: got %s, want a point", about.Type())
	}
	q, err := cutting.MoveDart(p.Piece, name, cutting.Position{Run: edge, At: d}, pivot)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

// pivotOf is the bust point, or the dart's own point.
func pivotOf(p *piece, dart string) (geom.Point, error) {
	for _, d := range p.Darts {
		if d.Name != dart || len(d.Apexes) == 0 {
			continue
		}
		for _, k := range p.Marks {
			if k.Kind == pattern.MarkBustPoint && k.At.Dist(d.Apexes[0]) < 60 {
				return k.At, nil
			}
		}
		return d.Apexes[0], nil
	}
	darts, _ := p.Attr("darts")
	return geom.Point{}, fmt.Errorf("piece %s: no dart %q; it has %v", p.Name, dart, darts)
}

func undart(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	var fold mm
	if err := starlark.UnpackArgs("undart", args, kwargs, "piece", &p, "dart", &name, "fold?", &fold); err != nil {
		return nil, err
	}
	q, err := cutting.Undart(p.Piece, name, float64(fold))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func newDart(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, edge string
	var at, width mm
	var to point
	if err := starlark.UnpackArgs("dart", args, kwargs, "piece", &p, "name", &name, "edge", &edge, "at", &at, "width", &width, "to", &to); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	q, err := cutting.AddDart(p.Piece, name, cutting.Position{Run: edge, At: float64(at)}, float64(width), geom.Point(to))
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}
