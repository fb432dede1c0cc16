package fitting

import (
	"math"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
)

const (
	rubs    = 0.4 // coefficient of friction of cloth on cloth (from memory: 0.3 to 0.5)
	gripped = 0.5 // of the shoulder, from the neck, on which the weight lies
)

// gripShoulders lets friction hold a garment where its wearer lays it: with its shoulder seam on
// the shoulder. Frictionless cloth slides until front and back pull alike. The bust bears more of
// the fronts than the back does of the back, so that jackets slid back by 11 mm on average, and
// the hem behind hung lower by 32.
func (g *garment) gripShoulders(f *form.Form) {
	for _, q := range g.panels {
		if q.where != back {
			continue
		}
		for _, e := range q.Edges {
			if e.Run != "shoulder" && e.Run != "overarm" { // of a sleeve cut in one with the body
				continue
			}
			for _, i := range g.along(q, e.Name) {
				if z, s := ridge(f, g.mesh.Points[i].X); s <= gripped {
					g.mesh.Grips = append(g.mesh.Grips, drape.Grip{Point: i, Z: z})
				}
			}
		}
	}
	most := rubs * g.mesh.Weight() / float64(len(g.mesh.Grips))
	for i := range g.mesh.Grips {
		g.mesh.Grips[i].Most = most
	}
}

// ridge returns where the shoulder's ridge lies from front to back at a distance from the
// middle, and how far from the neck point to the shoulder point that is, as a share.
func ridge(f *form.Form, x float64) (z, share float64) {
	neck, shoulder := f.Landmarks[form.SideNeck], f.Landmarks[form.Shoulder]
	share = (math.Abs(x) - neck.X) / (shoulder.X - neck.X)
	return neck.Z + share*(shoulder.Z-neck.Z), share
}
