package fitting

import "tapeline/drafting/pattern"

// strapped returns the edges under the arm and of the neck of a panel that does not reach the shoulder,
// in pairs that meet in a corner, at which a strap is sewn.
func (q *panel) strapped() (corners [][2]string) {
	if q.shouldered() {
		return nil
	}
	n := len(q.Edges)
	for i, e := range q.Edges {
		next := q.Edges[(i+1)%n]
		switch {
		case e.Role == pattern.RoleArmhole && next.Role == pattern.RoleNeckline,
			e.Role == pattern.RoleNeckline && next.Role == pattern.RoleArmhole:
			corners = append(corners, [2]string{e.Name, next.Name})
		}
	}
	return corners
}

// hangFromStraps lets the corners at which straps are sewn keep the height over the bust at
// which they are drawn: a strap is fitted on the wearer until they do.
func (g *garment) hangFromStraps() {
	for _, q := range g.panels {
		for _, corner := range q.strapped() {
			line := q.edges[corner[0]]
			local := line[len(line)-1]
			i := g.moved[q.first+local]
			level := q.level
			if q.bust != 0 {
				level = q.bust
			}
			g.mesh.Hung[i] = true
			g.mesh.Points[i].Y = level - q.down(q.points[local])
		}
	}
}
