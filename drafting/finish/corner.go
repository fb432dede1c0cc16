package finish

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// MitreLimit is how many allowances (the wider of the two) the point of a
// mitred corner may lie from the corner of the seam line. A sharper corner is
// cut off square there: corners of under 47° between equal allowances.
const MitreLimit = 2.5

// smooth is the turn in radians under which there is no corner: 0.2 degrees.
const smooth = 0.2 * math.Pi / 180

// A turned allowance is shaped by what it lies on while the piece's corner is
// between 45 and 135 degrees. Beyond, its end would lean by more than its own
// depth and run out to a point: such a corner is mitred.
const (
	leastTurn = math.Pi / 4
	mostTurn  = math.Pi - math.Pi/4
)

// leastStraight is how far the end of a turned allowance may bend from its
// straight course, in allowances.
const leastStraight = 0.4

// cornerReach is how far from a corner its cut lines may meet, mm.
func cornerReach(a, b *side) float64 { return 8*max(a.allowance, b.allowance) + 10 }

// corner joins the cut line of side a to that of b, which follows it: it trims
// both, or carries them on straight, and returns what lies between.
func corner(a, b *side) (geom.Path, error) {
	v := a.seam.End()
	turn := geom.AngleBetween(a.seam.EndTangent(), b.seam.StartTangent())
	limit := MitreLimit * max(a.allowance, b.allowance)
	ok := true
	switch {
	case a.role == pattern.RoleFold && b.role == pattern.RoleFold:
	case a.role == pattern.RoleFold || b.role == pattern.RoleFold:
		// Nothing may pass the fold, or it would stand out when the cloth is
		// opened: the fold's line ends the cut line.
		ok = mitre(a, b, v, math.Inf(1))
	case math.Abs(turn) < smooth && a.allowance == b.allowance:
		m := a.cut.End().Lerp(b.cut.Start(), 0.5)
		a.cut, b.cut = a.cut.MoveEnd(m), b.cut.MoveStart(m)
	default:
		if turn >= leastTurn && turn <= mostTurn {
			if link, ok := turnedOver(a, b); ok {
				return link, nil
			}
		}
		if mitre(a, b, v, limit) {
			break
		}
		if math.Abs(turn) < math.Pi/2 {
			step(a, b, v)
		} else {
			ok = squareOff(a, b, v, limit)
		}
	}
	if !ok {
		return nil, fmt.Errorf("the cut lines of %s and %s do not meet at allowances of %g and %g mm",
			a.name, b.name, a.allowance, b.allowance)
	}
	return nil, nil
}

// turnedOver shapes the corner where the allowance of one side is turned back
// on the other, and returns its end; ok is false where neither is.
func turnedOver(a, b *side) (end geom.Path, ok bool) {
	switch {
	case turnsOver(a.role, b.role):
		return turned(a, b, line{a.seam.End(), a.seam.EndTangent()})
	case turnsOver(b.role, a.role):
		// The same, walking the outline backwards.
		back, ahead := *b, *a
		back.cut, ahead.cut = b.cut.Reverse(), a.cut.Reverse()
		end, ok := turned(&back, &ahead, line{b.seam.Start(), b.seam.StartTangent()})
		a.cut, b.cut = ahead.cut.Reverse(), back.cut.Reverse()
		return end.Reverse(), ok
	}
	return nil, false
}

// turnsOver reports whether the allowance of an edge of role f is turned back
// on what lies beside an edge of role g: a hem is turned up over the seams
// that run into it; a seam is pressed open and then caught by the neckline,
// the armhole or the cap across its end.
func turnsOver(f, g pattern.Role) bool {
	across := g == pattern.RoleNeckline || g == pattern.RoleArmhole || g == pattern.RoleCap
	return f == pattern.RoleHem && g != pattern.RoleHem && g != pattern.RoleDartMouth || f == pattern.RoleSeam && across
}

// turned shapes the end of an allowance that is turned back along the line
// hem: turned, it must end where the cut line beside it ends, so it is that
// cut line mirrored in hem. Where that bends so sharply that its mirror image
// would run out into a hook or back, as a narrow armhole can, the end goes
// straight. Here a is turned; the end is walked from a to b.
func turned(a, b *side, hem line) (geom.Path, bool) {
	reach := cornerReach(a, b)
	beside, ok := cutStart(b.cut, hem, reach)
	if !ok {
		return nil, false
	}
	mirrored := beside.Move(hem.reflection())
	start, long := mirrored.Start(), longer(a.cut, reach)
	end := geom.Path{geom.Line(start, start.Add(mirrored.StartTangent().Mul(reach)))}
	m, ok := meetNear(long, end, start)
	if !ok {
		return nil, false
	}
	curved := longer(mirrored, reach)
	if c, ok := meetNear(long, curved, start); ok && c.at.Dist(m.at) <= leastStraight*a.allowance {
		m, end = c, curved
	}
	a.cut, b.cut = upTo(long, m.indexA, m.paramA, m.at), beside
	return upTo(end, m.indexB, m.paramB, m.at).Reverse(), true
}

// mitre carries the two cut lines to where they meet, or trims them there. It
// leaves them as they are where that is more than limit mm from the corner v.
func mitre(a, b *side, v geom.Point, limit float64) bool {
	reach := cornerReach(a, b)
	longA, longB := longer(a.cut, reach), longer(b.cut.Reverse(), reach)
	m, ok := meetNear(longA, longB, v)
	if !ok || m.at.Dist(v) > limit {
		return false
	}
	a.cut = upTo(longA, m.indexA, m.paramA, m.at)
	b.cut = upTo(longB, m.indexB, m.paramB, m.at).Reverse()
	return true
}

// step passes from one allowance to another where the seam line hardly turns:
// square to the seam. Where the corner closes, the narrower one is trimmed.
func step(a, b *side, v geom.Point) {
	end, start := a.cut.End(), b.cut.Start()
	if a.allowance < b.allowance {
		if m, ok := meetNear(a.cut, geom.Path{geom.Line(start, v)}, start); ok {
			a.cut = upTo(a.cut, m.indexA, m.paramA, m.at)
		}
		return
	}
	back := b.cut.Reverse()
	if m, ok := meetNear(back, geom.Path{geom.Line(end, v)}, end); ok {
		b.cut = upTo(back, m.indexA, m.paramA, m.at).Reverse()
	}
}

// squareOff cuts the point of a sharp corner square to its middle, limit mm
// from v.
func squareOff(a, b *side, v geom.Point, limit float64) bool {
	out := a.seam.EndTangent().Sub(b.seam.StartTangent()).Unit()
	l := line{v.Add(out.Mul(limit)), out.Right()}
	reach := cornerReach(a, b)
	cutA, okA := cutEnd(a.cut, l, reach)
	cutB, okB := cutStart(b.cut, l, reach)
	if okA && okB {
		a.cut, b.cut = cutA, cutB
	}
	return okA && okB
}
