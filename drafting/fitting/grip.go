package fitting

import (
	"math"
	"slices"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

const (
	rubs     = 0.4  // coefficient of friction of cloth on cloth (from memory: 0.3 to 0.5)
	openNeck = 50.0 // mm below the pit of the neck, from which on a front does not hold to the neck
	gripped  = 0.5  // of the shoulder, from the neck, on which the weight lies
)

// gripShoulders lets friction hold a garment that is open at the neck in front where its wearer
// lays it: with its shoulder seam on the shoulder. Nothing else holds it there. The bust bears
// more of the fronts than the back does of the back, which slides down until the fronts pull.
func (g *garment) gripShoulders(f *form.Form) {
	if !g.opensAtNeck(f) {
		return
	}
	for _, q := range g.panels {
		if q.where != back {
			continue
		}
		for _, e := range q.Edges {
			if e.Run != "shoulder" {
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

// opensAtNeck reports whether a front that is closed along its centre line is open above it.
func (g *garment) opensAtNeck(f *form.Form) bool {
	top, closed := math.Inf(-1), false
	for _, q := range g.panels {
		if q.where != front {
			continue
		}
		closed = closed || slices.ContainsFunc(q.Edges, func(e pattern.Edge) bool { return e.Name == centreLine })
		for i := range q.points {
			if p := g.moved[q.first+i]; p >= 0 && g.mesh.OnPlane[p] {
				top = max(top, g.mesh.Points[p].Y)
			}
		}
	}
	return closed && top < f.Landmarks[form.FrontNeck].Y-openNeck
}

// ridge returns where the shoulder's ridge lies from front to back at a distance from the
// middle, and how far from the neck point to the shoulder point that is, as a share.
func ridge(f *form.Form, x float64) (z, share float64) {
	neck, shoulder := f.Landmarks[form.SideNeck], f.Landmarks[form.Shoulder]
	share = (math.Abs(x) - neck.X) / (shoulder.X - neck.X)
	return neck.Z + share*(shoulder.Z-neck.Z), share
}
