package fitting

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// Where the body gives way, mm.
const (
	givesWay      = 90.0 // from the underarm point, where body and arm press on each other
	belowUnderarm = 30.0 // as far the seam is held by the trunk alone
	drawn         = 45.0 // from the armhole seam, where cloth is always drawn
	aboutCrotch   = 80.0 // from the crotch, where thighs and trunk press on each other
	yields        = 20.0 // at the crotch itself, fading to nothing there
)

// A bearer carries a point of the garment.
type bearer int

const (
	byTrunk bearer = iota
	byBoth
	byArm
)

// bodyOf returns what the garment lies on: the trunk, and sleeves on the arms too. Under legs
// the flesh of the crotch yields: held between thighs, whose gap is narrower than cloth is
// thick, it would not come to rest. A body that ends between the legs lies on the torso alone.
// The error is that of ctx.
func bodyOf(ctx context.Context, f *form.Form, g *garment) (drape.Body, error) {
	bearers, trunk := g.bearers(), f.TrunkDistance
	if joined(g.panels) {
		var err error
		if trunk, err = f.Torso(ctx); err != nil {
			return nil, err
		}
	}
	legs, crotch := g.legs(), f.Landmarks[form.Crotch]
	return func(i int, p r3.Vec) (float64, r3.Vec) {
		switch bearers[i] {
		case byBoth:
			return f.Distance(p)
		case byArm:
			return f.ArmDistance(p)
		}
		d, out := trunk(p)
		if from := r3.Sub(p, crotch); legs && r3.Norm2(from) < aboutCrotch*aboutCrotch {
			far := r3.Norm(from)
			d += yields * (1 - far/aboutCrotch)
			out = r3.Sub(out, r3.Scale(yields/aboutCrotch/max(1, far), from))
		}
		return d, out
	}, nil
}

// bearers returns what carries each point: a sleeve's cap and the armhole seam lie on trunk
// and arms, the rest of the sleeve on what of the arm is free of the trunk. Near the
// underarm point, where body and arm press on each other, cloth lies on the trunk.
func (g *garment) bearers() []bearer {
	by := make([]bearer, len(g.mesh.Points))
	for _, q := range g.panels {
		if q.where != sleeve {
			continue
		}
		for i, at := range q.points {
			b := byBoth
			round, whole := q.ring.at(q, at)
			below := q.ring.down(q, at) - q.ring.under
			switch far := math.Hypot(min(round, whole-round), below); {
			case below > belowUnderarm || below > 0 && far >= givesWay:
				b = byArm
			case far < givesWay:
				b = byTrunk
			}
			if p := g.moved[q.first+i]; p >= 0 {
				by[p] = b
			}
		}
	}
	return by
}

// nearArmhole returns a function that reports whether a point lies where a sleeve always draws the cloth.
func (g *garment) nearArmhole() func(p r3.Vec) bool {
	var seam []r3.Vec
	for _, q := range g.panels {
		for _, e := range q.Edges {
			if q.where == sleeve && e.Role == pattern.RoleCap {
				for _, i := range g.along(q, e.Name) {
					seam = append(seam, g.mesh.Points[i])
				}
			}
		}
	}
	return func(p r3.Vec) bool {
		return slices.ContainsFunc(seam, func(q r3.Vec) bool { return r3.Norm2(r3.Sub(p, q)) < drawn*drawn })
	}
}

// legs reports whether the garment has legs.
func (g *garment) legs() bool {
	return slices.ContainsFunc(g.panels, func(q *panel) bool { return q.leg })
}
