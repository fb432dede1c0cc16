package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
)

// The cap's height over the armhole's length must lie in this range for a
// sleeve that hangs well (common practice: about a third).
const (
	flatCap  = 0.26
	steepCap = 0.37
)

// How far depth and biceps may be moved to get there, mm.
const (
	mostLowered  = 35.0
	mostRaised   = 20.0
	leastBiceps  = 25.0 // ease that must be left
	mostBiceps   = 30.0 // ease that may be added
	tipToScye    = 120.0
	scyeToWaist  = 80.0
	ratioRefused = 0.20
)

// married is a trunk with the cap that fits its armhole.
type married struct {
	trunk
	cap capShape
}

func (m *married) ratio() float64 {
	return m.cap.height / (m.armholes[back].length() + m.armholes[front].length())
}

// marry drafts the trunk and the cap so that arm and armhole suit each other.
// An arm too big for the armhole lowers the underarm, then takes from the
// biceps ease; an armhole too long for the arm raises it, then adds. What was
// changed is said.
func (f *figure) marry(u *upper) (married, error) {
	tip := math.Max(u.backTip.Y, u.frontShoulder.P3.Y)
	least, most := tip+tipToScye, f.napeToWaist-scyeToWaist
	if least > most {
		return married{}, refuse(fmt.Sprintf("between shoulder point and waist there are %.0f mm; an armhole needs %.0f", f.napeToWaist-tip, tipToScye+scyeToWaist),
			body.NapeToWaist, body.ShoulderSlope)
	}
	depth := clamp(f.scyeDepth, least, most)
	biceps := f.biceps
	try := func(depth, biceps float64) (married, float64, error) {
		t, err := f.draftTrunk(u, depth)
		if err != nil {
			return married{}, 0, err
		}
		m := married{trunk: t}
		c, fit := f.draftCap(&t, biceps)
		m.cap = c
		switch fit {
		case armTooBig:
			return m, 0, nil
		case armTooSmall:
			return m, 1, nil
		}
		return m, m.ratio(), nil
	}
	m, r, err := try(depth, biceps)
	if err != nil || f.sleeve == "none" {
		return m, err
	}
	// move finds, between from and to, where the ratio reaches want; to where
	// it does not.
	move := func(from, to, want float64, at func(float64) (married, float64, error)) (float64, error) {
		var failed error
		x, ok := root(from, to, 0.02, func(x float64) float64 {
			_, r, err := at(x)
			if err != nil {
				failed = err
			}
			return r - want
		})
		if failed != nil {
			return from, failed
		}
		if !ok {
			return to, nil
		}
		return x, nil
	}
	byDepth := func(d float64) (married, float64, error) { return try(d, biceps) }
	byBiceps := func(b float64) (married, float64, error) { return try(depth, b) }
	want, depthEnd, bicepsEnd := 0.0, depth, biceps
	switch {
	case r < flatCap:
		want, depthEnd = flatCap, math.Min(depth+mostLowered, most)
		bicepsEnd = math.Min(biceps, f.body.Value(body.UpperArmGirth)+leastBiceps)
	case r > steepCap:
		want, depthEnd, bicepsEnd = steepCap, math.Max(depth-mostRaised, least), biceps+mostBiceps
	default:
		return f.married(m, depth, biceps)
	}
	if depthEnd != depth {
		if depth, err = move(depth, depthEnd, want, byDepth); err != nil {
			return m, err
		}
		if m, r, err = try(depth, biceps); err != nil {
			return m, err
		}
	}
	if math.Abs(r-want) > 1e-3 && (r < want) == (want == flatCap) {
		if biceps, err = move(biceps, bicepsEnd, want, byBiceps); err != nil {
			return m, err
		}
		if m, r, err = try(depth, biceps); err != nil {
			return m, err
		}
	}
	if r < ratioRefused {
		return m, refuse(fmt.Sprintf("the armhole is too small for this upper arm: the sleeve cap would be %.0f %% of the armhole high, at least %.0f %% are needed", 100*r, 100*ratioRefused),
			body.UpperArmGirth, body.ScyeDepth)
	}
	if r >= 1 {
		return m, refuse("the armhole is too long for the arm: no sleeve cap fits it", body.UpperArmGirth, body.ScyeDepth)
	}
	return f.married(m, depth, biceps)
}

// married says what was changed to marry arm and armhole.
func (f *figure) married(m married, depth, biceps float64) (married, error) {
	if d := depth - f.scyeDepth; math.Abs(d) > 0.5 {
		f.warn("The underarm lies %+.0f mm from the scye depth with its ease, to suit the arm.", d)
	}
	if d := biceps - f.biceps; math.Abs(d) > 0.5 {
		f.warn("The upper arm ease is changed by %+.0f mm, to suit the armhole.", d)
	}
	if r := m.ratio(); r < 0.22 || r > 0.42 {
		f.warn("The sleeve cap is %.0f %% of the armhole high; 26 to 37 %% hangs best.", 100*r)
	}
	return m, nil
}
