package style

import (
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

var lineVerbs = []Verb{
	{"Lines", `line(a, b, ...)`,
		`The straight line from point to point.`,
		newLine},
	{"Lines", `curve(points, start=None, end=None, tension=1)`,
		`A smooth curve through a list of points. start and end are the directions in which it leaves and arrives: degrees, or "right", "left", "up", "down"; left out, they follow from the points. A higher tension makes it flatter.`,
		newCurve},
	{"Lines", `arc(centre, radius, from_angle, to_angle)`,
		`Part of a circle, from one direction of its centre to another, in degrees (0 right, 90 down).`,
		newArc},
	{"Lines", `edge(piece, name)`,
		`An edge of a piece as a path, walked clockwise round the piece, its darts left out.`,
		edgeOf},
	{"Lines", `guide(piece, line)`,
		`A line inside a piece, such as "waist", as a path.`,
		guideOf},
	{"Lines", `legs(piece, dart)`,
		`Both legs of a dart as paths: from the ends of its mouth to its point, the one at the mouth's start first; of a dart inside the piece from top to bottom.`,
		legsOf},
	{"Lines", `parallel(path, by)`,
		`The path by mm to the left as it is walked, which is outside a piece; below zero to the right, inside.`,
		parallel},
	{"Lines", `part(path, from_, to)`,
		`The part of a path from one length along it to another; below zero they count from its end.`,
		partOf},
	{"Lines", `sized(path, length)`,
		`The path made larger or smaller about its start until it is so many mm long.`,
		sized},
	{"Lines", `stretched(path, start, end)`,
		`The path with its ends brought to two points, its shape stretched between them.`,
		stretched},
}

func newLine(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var list points
	if len(kwargs) > 0 || list.Unpack(args) != nil || len(list) < 2 {
		return nil, errors.New("line: want two points or more")
	}
	return path{geom.Polyline(list...)}, nil
}

func newCurve(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var list points
	var start, end direction
	tension := mm(1)
	if err := starlark.UnpackArgs("curve", args, kwargs, "points", &list, "start?", &start, "end?", &end, "tension?", &tension); err != nil {
		return nil, err
	}
	if !(tension >= 0.75 && tension <= 4) {
		return nil, fmt.Errorf("curve: tension %g; from 0.75 to 4", float64(tension))
	}
	c, err := geom.Spline(list, start.unit, end.unit, float64(tension))
	if err != nil {
		return nil, fmt.Errorf("curve: %w", err)
	}
	return path{c}, nil
}

func newArc(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var c point
	var radius, from, to mm
	if err := starlark.UnpackArgs("arc", args, kwargs, "centre", &c, "radius", &radius, "from_angle", &from, "to_angle", &to); err != nil {
		return nil, err
	}
	if !(radius > 0 && radius < 1e4) || math.Abs(float64(to-from)) > 360 || from == to {
		return nil, fmt.Errorf("arc: radius %.1f mm from %.1f to %.1f degrees", float64(radius), float64(from), float64(to))
	}
	return path{geom.Arc(geom.Point(c), float64(radius), radians(float64(from)), radians(float64(to)))}, nil
}

func edgeOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("edge", args, kwargs, "piece", &p, "name", &name); err != nil {
		return nil, err
	}
	run, err := edgePath(p, name)
	return path{run}, err
}

func guideOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("guide", args, kwargs, "piece", &p, "line", &name); err != nil {
		return nil, err
	}
	for _, l := range p.Lines {
		if l.Name == name {
			return path{l.Path}, nil
		}
	}
	lines, _ := p.Attr("lines")
	return nil, fmt.Errorf("piece %s: no line %q; it has %v", p.Name, name, lines)
}

func legsOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	if err := starlark.UnpackArgs("legs", args, kwargs, "piece", &p, "dart", &name); err != nil {
		return nil, err
	}
	for _, d := range p.Darts {
		if d.Name == name {
			return starlark.Tuple{path{d.Legs[0]}, path{d.Legs[1]}}, nil
		}
	}
	darts, _ := p.Attr("darts")
	return nil, fmt.Errorf("piece %s: no dart %q; it has %v", p.Name, name, darts)
}

func parallel(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var by mm
	if err := starlark.UnpackArgs("parallel", args, kwargs, "path", &p, "by", &by); err != nil {
		return nil, err
	}
	if len(p.Path) > 200 {
		return nil, errors.New("parallel: to a path of more than 200 strokes")
	}
	if err := r.spend(100 * (len(p.Path) + 1)); err != nil {
		return nil, err
	}
	q := p.Offset(float64(by), geom.OffsetTol)
	if len(q) == 0 {
		return nil, fmt.Errorf("parallel: nothing is left of the path %.1f mm away", float64(by))
	}
	return path{q}, nil
}

func partOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var from, to mm
	if err := starlark.UnpackArgs("part", args, kwargs, "path", &p, "from_", &from, "to", &to); err != nil {
		return nil, err
	}
	n := p.Length()
	a, b := float64(from), float64(to)
	if a < 0 {
		a += n
	}
	if b < 0 {
		b += n
	}
	if !(a >= -geom.JoinTol && b <= n+geom.JoinTol && b-a > geom.JoinTol) {
		return nil, fmt.Errorf("part: from %.1f to %.1f mm of %.1f", a, b, n)
	}
	return path{p.Part(a, b)}, nil
}

func sized(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var n mm
	if err := starlark.UnpackArgs("sized", args, kwargs, "path", &p, "length", &n); err != nil {
		return nil, err
	}
	was := p.Length()
	if !(n > 0 && was > geom.JoinTol) {
		return nil, fmt.Errorf("sized: from %.1f to %.1f mm", was, float64(n))
	}
	return path{p.Path.Scale(p.Start(), float64(n)/was)}, nil
}

func stretched(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p path
	var a, b point
	if err := starlark.UnpackArgs("stretched", args, kwargs, "path", &p, "start", &a, "end", &b); err != nil {
		return nil, err
	}
	if len(p.Path) == 0 {
		return nil, errors.New("stretched: an empty path")
	}
	return path{p.Path.Stretch(geom.Point(a), geom.Point(b))}, nil
}
