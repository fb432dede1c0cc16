package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// bustDart is the bust dart opened at the side. The front side seam above it is
// turned about the bust point, so that it rises by the surplus length of the
// front over the back.
type bustDart struct {
	point    geom.Point // bust point, about which the dart turns
	angle    float64    // 0: the dart is empty
	opens    geom.Point // on the side seam as sewn
	underarm geom.Point // of the opened front
	upper    geom.Path  // side seam underarm to the dart, opened
	lower    geom.Path  // side seam from the dart to the hem
}

// standOff returns the distance of a sewn dart's end from the bust point, mm: a
// dart sewn to the point of a full bust makes a peak on it (common practice: 15
// on a small bust, 20 to 30 on an ordinary one, 50 on a very full one). A bust
// close above the waist leaves the waist dart two thirds of the way.
func (f *figure) standOff() float64 {
	bySize := clamp(15+(f.body.Value(body.BustGirth)-800)/16, 15, 50)
	return math.Min(bySize, math.Max((f.frontWaist-f.sideNeckToBust)/3, 10))
}

// dartLevel returns the level on the side seam at which the bust dart opens
// before it is moved: a little below the bust point, well below the underarm, and
// lower on a full bust.
func (f *figure) dartLevel(u *upper, t *trunk) float64 {
	lower := math.Max(0, f.standOff()-20)
	return math.Min(math.Max(u.bustPoint.Y+25, t.depth+35)+lower, f.napeToWaist-50)
}

// openBustDart opens the dart at the side.
func (f *figure) openBustDart(u *upper, t *trunk) (bustDart, error) {
	d := bustDart{point: u.bustPoint, underarm: t.sideFront.Start()}
	if u.lift <= 0 {
		d.opens = t.sideFront[0].End() // of a flared seam
		if len(t.seams[front].upper()) == 1 {
			d.opens = t.sideFront[0].At(crossY(t.sideFront[0], f.dartLevel(u, t)))
		}
		d.lower = t.sideFront
		return d, nil
	}
	if level := f.dartLevel(u, t); level < d.underarm.Y+10 {
		return d, refuse(fmt.Sprintf("the side seam has %.0f mm above the bust dart; at least 10 mm are required",
			level-d.underarm.Y),
			body.NapeToWaist, body.ScyeDepth)
	}
	arm := d.underarm.Sub(d.point)
	sine := (d.underarm.Y - u.lift - d.point.Y) / arm.Norm()
	if math.Abs(sine) >= 0.95 {
		return d, refuse(fmt.Sprintf("no bust dart can lift the side seam by %.0f mm", u.lift), body.FrontWaistLength,
			body.BustPointWidth)
	}
	d.angle = arm.Angle() - math.Asin(sine) + f.gapeAngle(u.lift, arm.Norm())
	if d.angle > 48*degree {
		return d, refuse(fmt.Sprintf("the bust dart would open %.0f degrees; at most 48 can be sewn as one dart",
			d.angle/degree),
			body.FrontWaistLength, body.BustPointWidth)
	}
	above, below := t.sideFront[:1], t.sideFront[1:]
	if len(t.seams[front].upper()) == 1 {
		a, b := t.sideFront[0].Split(crossY(t.sideFront[0], f.dartLevel(u, t)))
		above, below = geom.Path{a}, geom.Join(geom.Path{b}, t.sideFront[1:])
	}
	turn := geom.Turn(d.point, -d.angle)
	d.upper = above.Move(turn)
	d.lower = below
	d.underarm = d.upper.Start()
	return d, nil
}
