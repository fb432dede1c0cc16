package finish

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// MitreLimit is the largest distance of a mitred corner's point from the corner
// of the seam line, in allowances (the wider of the two). A sharper corner is
// cut off square there: corners of under 47° between equal allowances.
const MitreLimit = 2.5

// smooth is the turn in radians below which there is no corner: 0.2 degrees.
const smooth = 0.2 * math.Pi / 180

// A turned allowance is shaped by what it lies on if the piece's corner is
// between 45 and 135 degrees. Beyond that its end would lean by more than its own
// depth and run out to a point: such a corner is mitred.
const (
	minTurn = math.Pi / 4
	maxTurn = math.Pi - math.Pi/4
)

// maxBend is how far the end of a turned allowance may bend from a straight
// line, in allowances.
const maxBend = 0.4

// cornerReach returns the largest distance from a corner at which its cut lines
// may meet, mm.
func cornerReach(a, b *side) float64 { return 8*max(a.allowance, b.allowance) + 10 }

// corner joins the cut line of side a to that of b, which follows it. It trims
// both, or extends them straight, and returns what lies between them.
func corner(a, b *side) (geom.Path, error) {
	v := a.seam.End()
	turn := geom.AngleBetween(a.seam.EndTangent(), b.seam.StartTangent())
	limit := MitreLimit * max(a.allowance, b.allowance)
	ok := true
	switch {
	case a.role == pattern.RoleFold && b.role == pattern.RoleFold:
	case a.role == pattern.RoleFold || b.role == pattern.RoleFold:
		// The fold's line ends the cut line: anything beyond it would stand out
		// when the cloth is opened.
		ok = mitre(a, b, v, math.Inf(1))
	case math.Abs(turn) < smooth && a.allowance == b.allowance:
		m := a.cut.End().Lerp(b.cut.Start(), 0.5)
		a.cut, b.cut = a.cut.MoveEnd(m), b.cut.MoveStart(m)
	default:
		if turn >= minTurn && turn <= maxTurn {
			if link, ok := turnedOver(a, b); ok {
				return link, nil
			}
		}
		if turn < -math.Pi/2 {
			limit = math.Inf(1) // the cut lines of a sharp concave corner meet in its allowance, as at the point of a V neck
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
// on the other, and returns its end. ok is false if neither is turned back.
func turnedOver(a, b *side) (end geom.Path, ok bool) {
	switch {
	case turnsOver(a.role, b.role):
		return shapeTurned(a, b, line{a.seam.End(), a.seam.EndTangent()})
	case turnsOver(b.role, a.role):
		// The same, walking the outline backwards.
		back, ahead := *b, *a
		back.cut, ahead.cut = b.cut.Reverse(), a.cut.Reverse()
		end, ok := shapeTurned(&back, &ahead, line{b.seam.Start(), b.seam.StartTangent()})
		a.cut, b.cut = ahead.cut.Reverse(), back.cut.Reverse()
		return end.Reverse(), ok
	}
	return nil, false
}

// turnsOver reports whether the allowance of an edge of role f is turned back
// on what lies beside an edge of role g. A hem is turned up over the seams that
// run into it; a seam is pressed open and then caught by the neckline, the
// armhole or the cap across its end.
func turnsOver(f, g pattern.Role) bool {
	across := g == pattern.RoleNeckline || g == pattern.RoleArmhole || g == pattern.RoleCap
	return f == pattern.RoleHem && g != pattern.RoleHem && g != pattern.RoleDartMouth || f == pattern.RoleSeam && across
}

// shapeTurned shapes the end of an allowance that is turned back along the line
// hem. When turned, it must end where the cut line beside it ends, so it is
// that cut line mirrored in hem. If that bends so sharply that its mirror image
// would run out into a hook or back, as in a narrow armhole, the end is
// straight. An end that would run out beyond the limit of a mitre is not shaped.
// The allowance of a is turned; the end is walked from a to b.
func shapeTurned(a, b *side, hem line) (geom.Path, bool) {
	reach := cornerReach(a, b)
	beside, ok := cutStart(b.cut, hem, reach)
	if !ok {
		return nil, false
	}
	// What lies on the hem is its own image: without the rounding of the reflection
	// the two cut lines meet there without a speck between them.
	mirrored := beside.Move(hem.reflection()).MoveStart(beside.Start())
	start, long := mirrored.Start(), extend(a.cut, reach)
	end := geom.Path{geom.Line(start, start.Add(mirrored.StartTangent().Mul(reach)))}
	m, ok := meetNear(long, end, start)
	if !ok || m.at.Dist(hem.at) > MitreLimit*max(a.allowance, b.allowance) {
		return nil, false
	}
	curved := extend(mirrored, reach)
	if c, ok := meetNear(long, curved, start); ok && c.at.Dist(m.at) <= maxBend*a.allowance {
		m, end = c, curved
	}
	a.cut, b.cut = upTo(long, m.indexA, m.paramA, m.at), beside
	return upTo(end, m.indexB, m.paramB, m.at).Reverse(), true
}

// mitre extends the two cut lines to the point where they meet, or trims them
// there. It leaves them unchanged if that is more than limit mm from the corner
// v.
func mitre(a, b *side, v geom.Point, limit float64) bool {
	reach := cornerReach(a, b)
	longA, longB := extend(a.cut, reach), extend(b.cut.Reverse(), reach)
	m, ok := meetNear(longA, longB, v)
	if !ok || m.at.Dist(v) > limit {
		return false
	}
	a.cut = upTo(longA, m.indexA, m.paramA, m.at)
	b.cut = upTo(longB, m.indexB, m.paramB, m.at).Reverse()
	return true
}

// step changes from one allowance to another square to the seam where the seam
// line hardly turns. If the corner is concave it trims the narrower one.
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

// squareOff cuts off the point of a sharp corner square to its bisector, limit
// mm from v.
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
