package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

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

// drawByStraps lets straps draw their corners on to the body. A strap bears a part of the weight and
// leaves its corner along the chest or the back, so it pulls it back, or forward, by that part times
// the slant there. A corner that only kept its height hung plumb over the bust, 18 mm before the chest.
func (g *garment) drawByStraps(f *form.Form) {
	var grips []drape.Grip
	for _, q := range g.panels {
		side := 1.0
		if q.where == back {
			side = -1
		}
		for _, corner := range q.strapped() {
			line := q.edges[corner[0]]
			i := g.moved[q.first+line[len(line)-1]]
			at := g.mesh.Points[i]
			on := f.Depth(at.Y, at.X, side) + side*thickness
			grips = append(grips, drape.Grip{Point: i, Z: on, Most: slantOfStrap(f, r3.Vec{X: at.X, Y: at.Y, Z: on}, side)})
		}
	}
	for _, grip := range grips {
		grip.Most *= g.mesh.Weight() / float64(len(grips))
		g.mesh.Grips = append(g.mesh.Grips, grip)
	}
}

// slantOfStrap returns the tangent of the angle from plumb at which a taut strap leaves a corner on
// the front (side 1) or the back (side -1) of a form for the middle of the shoulder; 0 if it leans outwards.
func slantOfStrap(f *form.Form, corner r3.Vec, side float64) float64 {
	const steps = 8
	over := r3.Scale(0.5, r3.Add(f.Landmarks[form.SideNeck], f.Landmarks[form.Shoulder]))
	over.X = math.Copysign(over.X, corner.X)
	way := r3.Sub(over, corner)
	slant := side * (corner.Z - over.Z) / max(1, way.Y)
	for k := 1; k < steps; k++ { // what of the body lies before the straight way bends the strap round it
		at := r3.Add(corner, r3.Scale(float64(k)/steps, way))
		slant = min(slant, side*(corner.Z-f.Depth(at.Y, at.X, side))/max(1, at.Y-corner.Y))
	}
	return max(0, slant)
}
