package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// armhole is one piece's half of the armhole, from the shoulder point over the
// across point, where the across width is measured, to the underarm.
type armhole struct {
	upper, lower geom.Segment
}

func (a armhole) length() float64 { return a.upper.Length() + a.lower.Length() }
func (a armhole) path() geom.Path { return geom.Path{a.upper, a.lower} }

// armholeShape holds the proportions of a back or a front armhole.
type armholeShape struct {
	level  float64 // share of the depth at which the across width holds
	k0, k3 float64 // handles of the lower curve
}

var (
	backArmholeShape  = armholeShape{level: 0.50, k0: 0.60, k3: 0.62}
	frontArmholeShape = armholeShape{level: 0.58, k0: 0.62, k3: 0.66}
)

// A sleeveless armhole lies closer to the body than one for a sleeve, which
// needs room to move the arm (common practice: underarm 10 to 20 mm higher,
// across widths 5 to 10 mm narrower on each side, shoulder 5 to 15 mm shorter,
// and 5 to 10 mm of the front armhole taken into the bust dart, so that it does
// not gape; from memory: side seams taken in by 6 to 15 mm at the underarm).
const (
	sleevelessRaise    = 20.0 // of the underarm, at most
	sleevelessBack     = 10.0 // off each side of the back
	sleevelessChest    = 10.0 // off each side of the front
	sleevelessShoulder = 10.0 // off the shoulder
	sleevelessGape     = 10.0 // out of the front armhole
	sleevelessSide     = 12.0 // off each side of back and front at the underarm
	sleevelessAbove    = 30.0 // of the underarm above the bust, from which on the side is taken in so far
)

// underarmTaken returns by how much the side seam is taken in at the underarm of a sleeveless
// armhole, on each piece, mm: the ease of the bust girth would stand off there. Where the underarm
// lies as low as the bust it must keep the bust's girth.
func (f *figure) underarmTaken(t *trunk) float64 {
	if !f.sleeveless || f.cloth != woven {
		return 0
	}
	return sleevelessSide * clamp((t.bustLine-t.depth)/sleevelessAbove, 0, 1)
}

// withoutSleeve changes the ease of a torso to that of a sleeveless armhole. The
// underarm rises to the level of the armpit, by at least 10 and at most 20 mm,
// but never more than 2 mm above the armpit.
func withoutSleeve(ease map[string]float64) {
	scye := ease[easeScyeDepth]
	ease[easeScyeDepth] -= math.Max(math.Min(clamp(scye, 10, sleevelessRaise), scye+2), 0)
	ease[string(body.BackWidth)] -= 2 * sleevelessBack
	ease[string(body.ChestWidth)] -= 2 * sleevelessChest
}

// gapeAngle returns the angle that the bust dart takes out of a sleeveless front
// armhole, reach mm from the bust point. A dart that has just begun to grow
// takes less.
func (f *figure) gapeAngle(lift, reach float64) float64 {
	if !f.sleeveless {
		return 0
	}
	return (sleevelessGape + f.altered[alterGape]) / reach * clamp(lift/12, 0, 1)
}

// mostAcross is the most by which the across point may lie to the side of the shoulder
// point, mm (our judgement).
const mostAcross = 75.0

// draftArmhole draws from the shoulder point tip, square to the shoulder,
// through the across point at x = across, to the underarm, arriving along into.
//
// If the across point lies far to the side of the shoulder point, as for a back
// width measured at the armpit, its level is lowered and the curve passes it at
// a slant; otherwise it would bulge.
func draftArmhole(tip, square geom.Point, across float64, underarm, into geom.Point, shape armholeShape) (armhole,
	error) {
	if over := across - tip.X; over > mostAcross {
		return armhole{}, fmt.Errorf("the across point lies %.0f mm beyond the shoulder point; at most %.0f mm can be "+
			"drafted", over, mostAcross)
	}
	if width := underarm.X - across; width < 5 {
		return armhole{}, fmt.Errorf("the armhole is %.0f mm wide on one piece; at least 5 mm are required", width)
	}
	at := func(level float64) geom.Point {
		return geom.Pt(across, tip.Y+level*(underarm.Y-tip.Y))
	}
	point := at(shape.level)
	c1 := fromDown(point.Sub(tip))
	point = at(shape.level + 0.17*clamp((c1+0.10)/0.30, 0, 1))
	c1 = fromDown(point.Sub(tip))
	c2 := fromDown(underarm.Sub(point))
	slant := math.Max(0, math.Min(2*c1-0.6*fromDown(square), c1+0.62*(c2-c1)))
	return armhole{
		upper: soft(tip, square, point, down(slant)),
		lower: arc(point, down(slant), underarm, into, shape.k0, shape.k3),
	}, nil
}
