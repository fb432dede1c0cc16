package finish

import (
	"math"

	"tapeline/drafting/geom"
)

// extend returns the path extended straight by reach mm past its end.
func extend(p geom.Path, reach float64) geom.Path {
	end := p.End()
	return append(p[:len(p):len(p)], geom.Line(end, end.Add(p.EndTangent().Mul(reach))))
}

// meeting is the point where two paths meet nearest to a given point.
type meeting struct {
	at             geom.Point
	indexA, indexB int
	paramA, paramB float64
}

// meetNear returns the point where a and b meet nearest to v.
func meetNear(a, b geom.Path, v geom.Point) (meeting, bool) {
	best, found := math.Inf(1), meeting{}
	for i, s := range a {
		box := reachOf(s)
		for j, t := range b {
			if !box.Overlaps(reachOf(t)) {
				continue
			}
			for _, c := range s.Crossings(t) {
				if d := c.At.Dist(v); d < best {
					best, found = d, meeting{c.At, i, j, c.ParamA, c.ParamB}
				}
			}
		}
	}
	return found, !math.IsInf(best, 1)
}

// reachOf returns a box that holds the segment and everything that crosses it
// within geom.JoinTol. It is faster than the smallest box.
func reachOf(s geom.Segment) geom.Box {
	return geom.BoxOf(s.P0, s.P1, s.P2, s.P3).Grow(geom.JoinTol)
}

// upTo returns the path up to parameter t of segment i, which lies at the point
// at.
func upTo(p geom.Path, i int, t float64, at geom.Point) geom.Path {
	if i > 0 && p[i].P0.Near(at, geom.JoinTol) {
		i, t = i-1, 1
	}
	out := append(geom.Path(nil), p[:i+1]...)
	out[i] = out[i].Part(0, t)
	return out.MoveEnd(at)
}

// cutEnd returns the path cut where it meets l nearest to l's point, or
// extended straight by up to reach mm to meet it.
func cutEnd(p geom.Path, l line, reach float64) (geom.Path, bool) {
	long := extend(p, reach)
	m, ok := meetNear(long, l.near(reach), l.at)
	if !ok {
		return nil, false
	}
	return upTo(long, m.indexA, m.paramA, m.at), true
}

// cutStart returns the path cut, or extended backwards, to start on l.
func cutStart(p geom.Path, l line, reach float64) (geom.Path, bool) {
	r, ok := cutEnd(p.Reverse(), l, reach)
	return r.Reverse(), ok
}
