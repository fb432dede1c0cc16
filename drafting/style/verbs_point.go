package style

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

var pointVerbs = []Verb{
	{"Points", `point(x, y)`,
		`A place on the paper: x mm to the right, y mm down. Points are added and subtracted: corner(back, "side", "hem") + point(20, 0) lies 20 mm to the right of the corner.`,
		newPoint},
	{"Points", `along(path, at=mm, part=fraction)`,
		`A point of a path: at mm from its start (below zero, from its end), or at a part of its length from 0 to 1.`,
		along},
	{"Points", `corner(piece, edge, next_edge)`,
		`The point where two edges meet.`,
		corner},
	{"Points", `mark(piece, name)`,
		`The point of a mark of the piece, such as "bust_point"; or a dart's point, by the dart's name.`,
		markOf},
	{"Points", `polar(from, length, direction)`,
		`The point so many mm from another, in a direction: degrees (0 right, 90 down), or "right", "left", "up", "down".`,
		polar},
	{"Points", `meet(a, b)`,
		`The point where two paths first meet as a is walked; straight ends are carried on where they do not reach.`,
		meet},
	{"Points", `nearest(path, point)`,
		`The point of a path nearest to another point.`,
		nearest},
}

func newPoint(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var x, y mm
	if err := starlark.UnpackArgs("point", args, kwargs, "x", &x, "y", &y); err != nil {
		return nil, err
	}
	return point{float64(x), float64(y)}, nil
}

func along(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var at, part maybe
	if err := starlark.UnpackArgs("along", args, kwargs, "path", &p, "at?", &at, "part?", &part); err != nil {
		return nil, err
	}
	n := p.Length()
	d := at.value
	switch {
	case at.given == part.given:
		return nil, errors.New("along: want at=mm or part=fraction")
	case part.given:
		d = part.value * n
	case d < 0:
		d += n
	}
	if d < -geom.JoinTol || d > n+geom.JoinTol {
		return nil, fmt.Errorf("along: %.1f mm along a path of %.1f mm", d, n)
	}
	return point(p.At(d)), nil
}

func corner(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var a, b string
	if err := starlark.UnpackArgs("corner", args, kwargs, "piece", &p, "edge", &a, "next_edge", &b); err != nil {
		return nil, err
	}
	pa, err := edgePath(p, a)
	if err != nil {
		return nil, err
	}
	pb, err := edgePath(p, b)
	if err != nil {
		return nil, err
	}
	if pa.End().Near(pb.Start(), geom.JoinTol) {
		return point(pa.End()), nil
	}
	if pb.End().Near(pa.Start(), geom.JoinTol) {
		return point(pa.Start()), nil
	}
	return nil, fmt.Errorf("piece %s: edges %s and %s do not meet", p.Name, a, b)
}

func markOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("mark", args, kwargs, "piece", &p, "name", &name); err != nil {
		return nil, err
	}
	for _, k := range p.Marks {
		if k.Name == name {
			return point(k.At), nil
		}
	}
	for _, d := range p.Darts {
		if d.Name == name && len(d.Apexes) > 0 {
			return point(d.Apexes[0]), nil
		}
	}
	marks, _ := p.Attr("marks")
	return nil, fmt.Errorf("piece %s: no mark or dart %q; it has %v", p.Name, name, marks)
}

func polar(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var from point
	var n mm
	var d direction
	if err := starlark.UnpackArgs("polar", args, kwargs, "from_", &from, "length", &n, "direction", &d); err != nil {
		return nil, err
	}
	return point(geom.Point(from).Add(d.unit.Mul(float64(n)))), nil
}

func meet(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var a, b path
	if err := starlark.UnpackArgs("meet", args, kwargs, "a", &a, "b", &b); err != nil {
		return nil, err
	}
	if err := r.spend(len(a.Path) * len(b.Path) / 2); err != nil {
		return nil, err
	}
	if found := a.Crossings(b.Path); len(found) > 0 {
		return point(found[0].At), nil
	}
	const reach = 2000
	long := func(p geom.Path) geom.Path {
		if len(p) == 0 {
			return p
		}
		s, e := p.Start(), p.End()
		return geom.Join(geom.Path{geom.Line(s.Sub(p.StartTangent().Mul(reach)), s)}, p, geom.Path{geom.Line(e, e.Add(p.EndTangent().Mul(reach)))})
	}
	if found := long(a.Path).Crossings(long(b.Path)); len(found) > 0 {
		return point(found[0].At), nil
	}
	return nil, errors.New("meet: the two never meet")
}

func nearest(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var q point
	if err := starlark.UnpackArgs("nearest", args, kwargs, "path", &p, "point", &q); err != nil {
		return nil, err
	}
	at, _, _ := p.Nearest(geom.Point(q))
	return point(at), nil
}
