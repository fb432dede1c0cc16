package style

import (
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

var lineVerbs = []declaration{
	{"Lines", `line(a point, b point, ...) path`,
		`the straight line from {a} to <{b}>`,
		`Returns the straight line through two or more points.`,
		newLine},
	{"Lines", `curve(points, start direction=None, end direction=None, tension number=1) path`,
		`the smooth curve through {points}[, leaving {start}][, arriving {end}][, of tension {tension}]`,
		`Returns a smooth curve through a list of points. start and end are the directions in which it leaves and ` +
			`arrives: degrees, or "right", "left", "up", "down". Without them the points decide. A higher tension ` +
			`makes the curve flatter.`,
		newCurve},
	{"Lines", `arc(centre point, radius length, from_angle angle, to_angle angle) path`,
		`the arc about {centre} of radius {radius}, from {from_angle} to {to_angle}`,
		`Returns part of a circle, from one direction seen from its centre to another, in degrees (0 right, 90 down).`,
		newArc},
	{"Lines", `edge(piece, name edge) path`,
		`the {name} of {piece}`,
		`Returns an edge of a piece as a path, clockwise round the piece, without its darts.`,
		edge},
	{"Lines", `guide(piece, line) path`,
		`the {line} line of {piece}`,
		`Returns a line inside a piece, such as "waist", as a path.`,
		guide},
	{"Lines", `legs(piece, dart) paths`,
		`the legs of the {dart} of {piece}`,
		`Returns both legs of a dart as paths, from the ends of its mouth to its point, starting with the leg at the ` +
			`mouth's start. The legs of a dart inside the piece run from top to bottom.`,
		legs},
	{"Lines", `parallel(path, by length) path`,
		`the line {by} to the left of {path}`,
		`Returns the path offset by mm to its left, which is outside a piece. A negative number offsets it to the ` +
			`right, inside.`,
		parallel},
	{"Lines", `part(path, from_ length, to length) path`,
		`the part from {from_} to {to} of {path}`,
		`Returns the part of a path between two lengths along it in mm. Negative lengths count from its end.`,
		part},
	{"Lines", `sized(path, length) path`,
		`{path} scaled to {length}`,
		`Returns the path scaled about its start to a length in mm.`,
		sized},
	{"Lines", `stretched(path, start point, end point) path`,
		`{path} stretched from {start} to {end}`,
		`Returns the path with its ends moved to two points and its shape stretched between them.`,
		stretched},
}

func newLine(c *call) (starlark.Value, error) {
	var list points
	if len(c.kwargs) > 0 || list.Unpack(c.args) != nil || len(list) < 2 {
		return nil, c.errorf("want 2 to %d points", maxPath)
	}
	return path{geom.Polyline(list...)}, nil
}

func newCurve(c *call) (starlark.Value, error) {
	var list points
	var start, end direction
	tension := 1.0
	if err := c.unpack(&list, &start, &end, &tension); err != nil {
		return nil, err
	}
	if !(tension >= 0.75 && tension <= 4) {
		return nil, c.errorf("tension %g; want 0.75 to 4", tension)
	}
	curve, err := geom.Spline(list, start.unit, end.unit, tension)
	if err != nil {
		return nil, c.errorf("%w", err)
	}
	return path{curve}, nil
}

func newArc(c *call) (starlark.Value, error) {
	var centre geom.Point
	var radius, from, to float64
	err := c.unpack(&centre, &radius, &from, &to)
	if err != nil {
		return nil, err
	}
	if !(radius > 0 && radius < 1e4) || math.Abs(to-from) > 360 || from == to {
		return nil, c.errorf("radius %.1f mm from %.1f to %.1f degrees; want a radius above 0 and below 10000 mm "+
			"and angles at most 360 degrees apart", radius, from, to)
	}
	return path{geom.Arc(centre, radius, radians(from), radians(to))}, nil
}

func edge(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	run, err := p.edgePath(name)
	return path{run}, err
}

func guide(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	l, err := p.line(name)
	return path{l}, err
}

func legs(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	d, err := p.dart(name)
	return starlark.Tuple{path{d.Legs[0]}, path{d.Legs[1]}}, err
}

func parallel(c *call) (starlark.Value, error) {
	var p path
	var by float64
	if err := c.unpack(&p, &by); err != nil {
		return nil, err
	}
	if len(p.Path) > 200 {
		return nil, c.errorf("a path of %d strokes; at most 200", len(p.Path))
	}
	if err := c.spend(100 * (len(p.Path) + 1)); err != nil {
		return nil, err
	}
	q := p.Offset(by, geom.OffsetTol)
	if len(q) == 0 {
		return nil, c.errorf("nothing of the path remains %.1f mm away", by)
	}
	return path{q}, nil
}

func part(c *call) (starlark.Value, error) {
	var p path
	var a, b float64
	if err := c.unpack(&p, &a, &b); err != nil {
		return nil, err
	}
	n := p.Length()
	if a < 0 {
		a += n
	}
	if b < 0 {
		b += n
	}
	if !(a >= -geom.JoinTol && b <= n+geom.JoinTol && b-a > geom.JoinTol) {
		return nil, c.errorf("from %.1f to %.1f mm of a path of %.1f mm", a, b, n)
	}
	return path{p.Part(a, b)}, nil
}

func sized(c *call) (starlark.Value, error) {
	var p path
	var n float64
	if err := c.unpack(&p, &n); err != nil {
		return nil, err
	}
	old := p.Length()
	if !(n > 0 && old > geom.JoinTol) {
		return nil, c.errorf("cannot scale a path of %.1f mm to %.1f mm", old, n)
	}
	return path{p.Scale(p.Start(), n/old)}, nil
}

func stretched(c *call) (starlark.Value, error) {
	var p path
	var a, b geom.Point
	if err := c.unpack(&p, &a, &b); err != nil {
		return nil, err
	}
	if len(p.Path) == 0 {
		return nil, c.errorf("the path is empty")
	}
	return path{p.Stretch(a, b)}, nil
}
