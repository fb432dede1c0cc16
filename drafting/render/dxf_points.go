package render

import (
	"math"

	"tapeline/drafting/geom"
)

// dxfVertex is a corner of a flattened line.
type dxfVertex struct {
	at   geom.Point // mm, not rounded
	turn bool       // a turn point; else one on a curve that runs on smoothly
}

// turnAngle is the least bend in radians (two degrees) that makes a join of
// two curves a turn point.
const turnAngle = math.Pi / 90

// vertices are a path within the chord error, rounding included. A closed
// line does not repeat its first point. Every point is a turn point but those
// within a curve and those where one curve runs smoothly into the next, so
// that a reader who draws a curve through the curve points gets its own back.
func (d *dxfWriter) vertices(p geom.Path, chordError float64) []dxfVertex {
	tol := chordError - d.unit*math.Pow10(-d.decimals) // a rounded point is within 0.71 of the last place
	closed := p.Closed()
	var vs []dxfVertex
	for i, s := range p {
		var before *geom.Segment
		if i > 0 {
			before = &p[i-1]
		} else if closed {
			before = &p[len(p)-1]
		}
		vs = d.appendVertex(vs, dxfVertex{s.P0, turns(before, &s)})
		points := geom.Path{s}.Flatten(tol)
		for _, q := range points[1 : len(points)-1] {
			vs = d.appendVertex(vs, dxfVertex{q, false})
		}
	}
	if len(p) > 0 && !closed {
		vs = d.appendVertex(vs, dxfVertex{p.End(), true})
	}
	if n := len(vs); closed && n > 1 && d.same(vs[0].at, vs[n-1].at) {
		vs[0].turn = vs[0].turn || vs[n-1].turn
		vs = vs[:n-1]
	}
	return vs
}

// appendVertex adds a vertex unless it is written as the same point as the one
// before it.
func (d *dxfWriter) appendVertex(vs []dxfVertex, v dxfVertex) []dxfVertex {
	if n := len(vs); n > 0 && d.same(vs[n-1].at, v.at) {
		vs[n-1].turn = vs[n-1].turn || v.turn
		return vs
	}
	return append(vs, v)
}

// same reports whether two points are written the same.
func (d *dxfWriter) same(a, b geom.Point) bool {
	k := math.Pow10(d.decimals) / d.unit
	p, q := a.Sub(d.origin).Mul(k), b.Sub(d.origin).Mul(k)
	return math.Round(p.X) == math.Round(q.X) && math.Round(p.Y) == math.Round(q.Y)
}

// turns reports whether the line turns between two segments of it. It does at
// either end of an open line.
func turns(before, after *geom.Segment) bool {
	if before == nil || before.Straight || after.Straight {
		return true
	}
	bend := geom.AngleBetween(before.Tangent(1), after.Tangent(0))
	return math.Abs(bend) > turnAngle
}

// pathOf is the line through vertices.
func pathOf(vs []dxfVertex, closed bool) geom.Path {
	points := make([]geom.Point, 0, len(vs)+1)
	for _, v := range vs {
		points = append(points, v.at)
	}
	if closed && len(vs) > 0 {
		points = append(points, vs[0].at)
	}
	return geom.Polyline(points...)
}
