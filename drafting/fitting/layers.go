package fitting

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// besideNeck is the width over which the cloth lies double beside a neckline to which a facing,
// a collar or a band is sewn: that of a facing (common practice: 40 to 60 mm).
const besideNeck = 40.0

// layers returns of how many layers a panel is: of two where its piece is cut for the inside too.
func (q *panel) layers() float64 {
	sides := 2
	if q.Cut.OnFold {
		sides = 1
	}
	return float64(max(1, q.Cut.Count/sides))
}

// doubled returns the necklines of a panel to which a piece is sewn that is left out. It and the
// allowances of the seam bear the pull of the neck together with the shell.
func (g *garment) doubled(q *panel, seams []pattern.Seam) (lines []geom.Path) {
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
				lines = append(lines, e.Path)
				break
			}
		}
	}
	return lines
}
