package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

var pointVerbs = []declaration{
	{"Points", `point(x length, y length) point`,
		`the point {x} to the right and {y} down`,
		`Returns the point x mm to the right and y mm down. Points can be added and subtracted: ` +
			`corner(back, "side", "hem") + point(20, 0) lies 20 mm to the right of the corner.`,
		newPoint},
	{"Points", `along(path, at along=mm, part share=fraction) point`,
		`the point of {path}[ {at}][ {part} of the way along]`,
		`Returns a point of a path: at mm from its start (negative: from its end), or at a part of its length from ` +
			`0 to 1.`,
		along},
	{"Points", `corner(piece, edge, next_edge edge) point`,
		`the corner of {edge} and {next_edge} of {piece}`,
		`Returns the point where two edges meet.`,
		corner},
	{"Points", `mark(piece, name mark) point`,
		`the {name} of {piece}`,
		`Returns the point of a mark of the piece, such as "bust_point", or the point of a dart, by the dart's name.`,
		mark},
	{"Points", `polar(from_ point, length, direction) point`,
		`the point {length} away from {from_}, {direction}`,
		`Returns the point at a length in mm from another point, in a direction: degrees (0 right, 90 down), or ` +
			`"right", "left", "up", "down".`,
		polar},
	{"Points", `meet(a path, b path) point`,
		`the point where {a} meets {b}`,
		`Returns the first point where path a crosses path b. If they do not cross, their ends are extended straight.`,
		meet},
	{"Points", `nearest(path, point) point`,
		`the point of {path} nearest to {point}`,
		`Returns the point of a path nearest to another point.`,
		nearest},
}

func newPoint(c *call) (starlark.Value, error) {
	var x, y float64
	err := c.unpack(&x, &y)
	return point{x, y}, err
}

func along(c *call) (starlark.Value, error) {
	var p path
	var at, part optional
	if err := c.unpack(&p, &at, &part); err != nil {
		return nil, err
	}
	n := p.Length()
	d := at.value
	switch {
	case at.given == part.given:
		return nil, c.errorf("want either at=mm or part=fraction")
	case part.given:
		d = part.value * n
	case d < 0:
		d += n
	}
	if d < -geom.JoinTol || d > n+geom.JoinTol {
		return nil, c.errorf("%.1f mm along a path of %.1f mm", d, n)
	}
	return point(p.At(d)), nil
}

func corner(c *call) (starlark.Value, error) {
	var p *piece
	var a, b string
	if err := c.unpack(&p, &a, &b); err != nil {
		return nil, err
	}
	pa, err := p.edgePath(a)
	if err != nil {
		return nil, err
	}
	pb, err := p.edgePath(b)
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

func mark(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	for _, k := range p.Marks {
		if k.Name == name {
			return point(k.At), nil
		}
	}
	if d, err := p.dart(name); err == nil && len(d.Apexes) > 0 {
		return point(d.Apexes[0]), nil
	}
	marks, _ := p.Attr("marks")
	return nil, fmt.Errorf("piece %s: no mark or dart %q; it has %v", p.Name, name, marks)
}

func polar(c *call) (starlark.Value, error) {
	var from geom.Point
	var n float64
	var d direction
	err := c.unpack(&from, &n, &d)
	return point(from.Add(d.unit.Mul(n))), err
}

func meet(c *call) (starlark.Value, error) {
	var a, b path
	if err := c.unpack(&a, &b); err != nil {
		return nil, err
	}
	if at, ok, err := c.firstCrossing(a.Path, b.Path); ok || err != nil {
		return at, err
	}
	if at, ok, err := c.firstCrossing(extendEnds(a.Path), extendEnds(b.Path)); ok || err != nil {
		return at, err
	}
	return nil, c.errorf("the paths do not meet, even with their ends extended")
}

// firstCrossing returns the first point of a that lies on b. It takes long
// paths in parts of a few milliseconds, so that a cancelled run ends soon.
func (c *call) firstCrossing(a, b geom.Path) (point, bool, error) {
	const pairs = 4000 // of strokes
	for part := range slices.Chunk(a, max(1, pairs/max(1, len(b)))) {
		if err := c.spend(len(part) * len(b) / 2); err != nil {
			return point{}, false, err
		}
		if found := part.Crossings(b); len(found) > 0 {
			return point(found[0].At), true, nil
		}
	}
	return point{}, false, nil
}

// extendEnds extends a path straight by 2 m at both ends.
func extendEnds(p geom.Path) geom.Path {
	const reach = 2000
	if len(p) == 0 {
		return p
	}
	s, e := p.Start(), p.End()
	return geom.Join(geom.Path{geom.Line(s.Sub(p.StartTangent().Mul(reach)), s)}, p,
		geom.Path{geom.Line(e, e.Add(p.EndTangent().Mul(reach)))})
}

func nearest(c *call) (starlark.Value, error) {
	var p path
	var q geom.Point
	if err := c.unpack(&p, &q); err != nil {
		return nil, err
	}
	at, _, _ := p.Nearest(q)
	return point(at), nil
}
