package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var measureVerbs = []Verb{
	{"Measure", `length(piece, edge, ...)`,
		`The length of an edge in mm, its darts sewn shut, or of several edges together; length(path) that of a path.`,
		length},
	{"Measure", `seam_length(pieces, edges)`,
		`The length of one side of a seam: "piece/edge", or a list of them, of a list of pieces.`,
		seamLength},
	{"Measure", `notches(piece, edge)`,
		`Where the notches of an edge lie, mm along it.`,
		notchesOf},
	{"Measure", `distance(a, b)`,
		`From one point to another in a straight line, mm.`,
		distance},
	{"Measure", `angle(a, b)`,
		`The direction from point a to point b in degrees: 0 is to the right, 90 straight down.`,
		angleOf},
	{"Measure", `width(piece, y)`,
		`How wide the piece is at the height y, the darts there taken out: half a girth on the half of a garment.`,
		widthAt},
	{"Measure", `level(piece, line)`,
		`The height y of a level line of the piece, such as "waist" or "hip".`,
		levelOf},
	{"Measure", `distance_along(path, point)`,
		`How far along a path the place nearest to the point lies, mm.`,
		distanceAlong},
	{"Measure", `mm(number)`,
		`A length as text for a message: "562 mm".`,
		mmText},
}

func length(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	if len(kwargs) > 0 || len(args) == 0 {
		return nil, fmt.Errorf("length: want (path) or (piece, edge, ...)")
	}
	switch x := args[0].(type) {
	case path:
		if len(args) == 1 {
			return starlark.Float(x.Length()), nil
		}
	case *piece:
		var edges names
		for _, a := range args[1:] {
			var one names
			if err := one.Unpack(a); err != nil {
				return nil, fmt.Errorf("length: %w", err)
			}
			edges = append(edges, one...)
		}
		if len(edges) == 0 {
			return nil, fmt.Errorf("length: of which edge? %s has %v", x.Name, x.Runs())
		}
		var sum float64
		for _, e := range edges {
			run, err := edgePath(x, e)
			if err != nil {
				return nil, err
			}
			sum += run.Length()
		}
		return starlark.Float(sum), nil
	}
	return nil, fmt.Errorf("length: want (path) or (piece, edge, ...)")
}

func seamLength(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var list starlark.Indexable
	var edges names
	if err := starlark.UnpackArgs("seam_length", args, kwargs, "pieces", &list, "edges", &edges); err != nil {
		return nil, err
	}
	if list.Len() > maxGarment {
		return nil, fmt.Errorf("seam_length: %d pieces; at most %d", list.Len(), maxGarment)
	}
	chain, err := refs(edges)
	if err != nil {
		return nil, err
	}
	var pieces []pattern.Piece
	for i := range list.Len() {
		p, ok := list.Index(i).(*piece)
		if !ok {
			return nil, fmt.Errorf("seam_length: got %s among the pieces", list.Index(i).Type())
		}
		pieces = append(pieces, p.Piece)
	}
	for _, r := range chain {
		i := slices.IndexFunc(pieces, func(p pattern.Piece) bool { return p.Name == r.Piece })
		if i < 0 {
			return nil, fmt.Errorf("seam_length: no piece %q", r.Piece)
		}
		if _, err := edgePath(&piece{Piece: pieces[i]}, r.Edge); err != nil {
			return nil, err
		}
	}
	return starlark.Float(chainLength(pieces, chain)), nil
}

func notchesOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("notches", args, kwargs, "piece", &p, "edge", &name); err != nil {
		return nil, err
	}
	if _, err := edgePath(p, name); err != nil {
		return nil, err
	}
	var at []float64
	for _, n := range p.Notches {
		if n.Edge == name {
			at = append(at, n.At)
		}
	}
	slices.Sort(at)
	list := make(starlark.Tuple, len(at))
	for i, d := range at {
		list[i] = starlark.Float(d)
	}
	return list, nil
}

func distance(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var a, b point
	if err := starlark.UnpackArgs("distance", args, kwargs, "a", &a, "b", &b); err != nil {
		return nil, err
	}
	return starlark.Float(geom.Point(a).Dist(geom.Point(b))), nil
}

func angleOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var a, b point
	if err := starlark.UnpackArgs("angle", args, kwargs, "a", &a, "b", &b); err != nil {
		return nil, err
	}
	return starlark.Float(degrees(geom.Point(b).Sub(geom.Point(a)).Angle())), nil
}

func widthAt(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var y mm
	if err := starlark.UnpackArgs("width", args, kwargs, "piece", &p, "y", &y); err != nil {
		return nil, err
	}
	return starlark.Float(cutting.WidthAt(p.Piece, float64(y))), nil
}

func levelOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("level", args, kwargs, "piece", &p, "line", &name); err != nil {
		return nil, err
	}
	for _, l := range p.Lines {
		if l.Name == name {
			return starlark.Float(l.Path.Start().Y), nil
		}
	}
	lines, _ := p.Attr("lines")
	return nil, fmt.Errorf("piece %s: no line %q; it has %v", p.Name, name, lines)
}

func distanceAlong(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var q point
	if err := starlark.UnpackArgs("distance_along", args, kwargs, "path", &p, "point", &q); err != nil {
		return nil, err
	}
	_, _, d := p.Nearest(geom.Point(q))
	return starlark.Float(d), nil
}

func mmText(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var v mm
	if err := starlark.UnpackArgs("mm", args, kwargs, "number", &v); err != nil {
		return nil, err
	}
	return starlark.String(fmt.Sprintf("%.0f mm", float64(v))), nil
}
