package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// besideNeck is the width over which the cloth lies double beside a neckline to which a facing,
// a collar or a band is sewn: that of a facing (common practice: 40 to 60 mm).
const besideNeck = 40.0

// layers returns how often the piece of a panel lies on itself: it is cut for the inside too.
func (q *panel) layers() float64 {
	sides := 2
	if q.Cut.OnFold {
		sides = 1
	}
	return float64(max(1, q.Cut.Count/sides))
}

// doubled returns the necklines of a panel to which a piece is sewn that is left out. It and the
// allowances of the seam bear the pull of the neck together with the shell.
func (g *garment) doubled(q *panel, seams []pattern.Seam) (lines [][]geom.Point) {
	tried := func(ref pattern.EdgeRef) bool {
		p := g.panel(ref.Piece)
		return p != nil && p.EdgeIndex(ref.Edge) >= 0
	}
	for _, e := range q.Edges {
		if e.Role != pattern.RoleNeckline {
			continue
		}
		own := pattern.EdgeRef{Piece: q.Name, Edge: e.Name}
		for _, s := range seams {
			if s.A == own && !tried(s.B) || s.B == own && !tried(s.A) {
				lines = append(lines, e.Path.Flatten(1))
				break
			}
		}
	}
	return lines
}

// near reports whether a point lies within a distance of a line.
func near(line []geom.Point, at r2.Vec, within float64) bool {
	p := geom.Pt(at.X, at.Y)
	for i := 1; i < len(line); i++ {
		way := line[i].Sub(line[i-1])
		s := p.Sub(line[i-1]).Dot(way) / math.Max(1e-9, way.Dot(way))
		if p.Dist(line[i-1].Lerp(line[i], min(1, max(0, s)))) <= within {
			return true
		}
	}
	return false
}
