package block

import (
	"context"
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
)

// The cap's height over the armhole's length must lie in this range for a
// sleeve that hangs well (common practice: about a third).
const (
	minCapRatio     = 0.26
	maxCapRatio     = 0.37
	maxKnitCapRatio = 0.42 // a knit gives where a high cap would bind (our judgement)
)

// Limits to what marry changes, mm; and the smallest ratio that is drafted.
const (
	maxLowering   = 35.0  // of the underarm
	maxRaising    = 20.0  // of the underarm
	minBicepsEase = 25.0  // that must be left
	maxBicepsGain = 30.0  // ease that may be added
	maxKnitGain   = 70.0  // to a sleeve of a knit, which is drafted without ease
	tipToScye     = 120.0 // at least, from the shoulder point down to the underarm
	scyeToWaist   = 80.0  // at least
	refusedRatio  = 0.20
)

// married is a trunk with the cap that fits its armhole.
type married struct {
	trunk
	cap capShape
	fit capFit
}

// ratio returns the cap's height over the armhole's length: 0 if the arm is too
// big for any cap, 1 if it is too small.
func (m *married) ratio() float64 {
	switch m.fit {
	case armTooBig:
		return 0
	case armTooSmall:
		return 1
	}
	return m.cap.height / m.armholeLength()
}

// marry drafts the trunk and the cap so that arm and armhole suit each other.
// An arm too big for the armhole lowers the underarm, then takes from the
// biceps ease; an armhole too long for the arm raises it, then adds ease. A
// warning says what was changed.
func (f *figure) marry(ctx context.Context, u *upper) (married, error) {
	tip := math.Max(u.backTip.Y, u.frontShoulder.P3.Y)
	minDepth, maxDepth := tip+tipToScye, f.napeToWaist-scyeToWaist
	if minDepth > maxDepth {
		return married{}, refuse(fmt.Sprintf("between shoulder point and waist there are %.0f mm; an armhole needs at "+
			"least %.0f mm",
			f.napeToWaist-tip, tipToScye+scyeToWaist), body.NapeToWaist, body.ShoulderSlope)
	}
	depth := clamp(f.scyeDepth, minDepth, maxDepth)
	m, err := f.try(ctx, u, depth, f.biceps)
	if err != nil {
		return m, err
	}
	s := suiting{figure: f, upper: u}
	if f.sleeve == "none" {
		return s.passArm(ctx, m, math.Min(depth+maxLowering, maxDepth))
	}
	switch r := m.ratio(); {
	case r < minCapRatio:
		s.want = minCapRatio
		s.depth = math.Min(depth+maxLowering, maxDepth)
		s.biceps = math.Min(f.biceps, f.leastBiceps())
	case r > f.maxCapRatio():
		s.want = f.maxCapRatio()
		s.depth, s.biceps = math.Max(depth-maxRaising, minDepth), f.biceps+f.maxBicepsGain()
	default:
		f.warnOfMarriage(&m)
		return m, nil
	}
	if m, err = s.suit(ctx, m); err != nil {
		return m, err
	}
	if r := m.ratio(); r < refusedRatio {
		return m, refuse(fmt.Sprintf(
			"the armhole is too small for this upper arm: the sleeve cap would be %.0f %% of the armhole high; at least "+
				"%.0f %% is required",
			100*r, 100*refusedRatio), body.UpperArmGirth, body.ScyeDepth)
	} else if r >= 1 {
		return m, refuse("the armhole is too long for the arm: no sleeve cap fits it", body.UpperArmGirth, body.ScyeDepth)
	}
	f.warnOfMarriage(&m)
	return m, nil
}

func (f *figure) maxCapRatio() float64 {
	if f.stretch > 0 {
		return maxKnitCapRatio
	}
	return maxCapRatio
}

func (f *figure) maxBicepsGain() float64 {
	if f.stretch > 0 {
		return maxKnitGain
	}
	return maxBicepsGain
}

// leastBiceps returns the least girth of the sleeve at the upper arm that marry takes, mm: a
// knit needs no ease.
func (f *figure) leastBiceps() float64 {
	if f.stretch > 0 {
		return f.value(body.UpperArmGirth)
	}
	return f.body.Value(body.UpperArmGirth) + minBicepsEase
}

// try drafts trunk and cap for one depth of the underarm and one biceps, mm; without
// a sleeve, the trunk.
func (f *figure) try(ctx context.Context, u *upper, depth, biceps float64) (married, error) {
	if err := cost.Step(ctx); err != nil {
		return married{}, err
	}
	t, err := f.draftTrunk(u, depth)
	if err != nil {
		return married{}, err
	}
	m := married{trunk: t}
	if f.sleeve != "none" {
		m.cap, m.fit = f.draftCap(&t, biceps)
	}
	return m, nil
}

// suiting is the search for a depth and a biceps that give the ratio wanted.
type suiting struct {
	*figure
	upper         *upper
	want          float64
	depth, biceps float64 // as far as each may be moved, mm
}

// suit moves the depth, and if that is not enough the biceps.
func (s *suiting) suit(ctx context.Context, m married) (married, error) {
	m, err := s.move(m, m.depth, s.depth, func(d float64) (married, error) {
		return s.try(ctx, s.upper, d, s.figure.biceps)
	})
	if err != nil || math.Abs(m.ratio()-s.want) <= 1e-3 || (m.ratio() < s.want) != (s.want == minCapRatio) {
		return m, err
	}
	depth := m.depth
	return s.move(m, m.cap.biceps, s.biceps, func(b float64) (married, error) {
		return s.try(ctx, s.upper, depth, b)
	})
}

// passArm lowers the underarm of an armhole that is finished without a sleeve until
// the arm passes it, at most to a depth in mm.
func (s *suiting) passArm(ctx context.Context, m married, lowest float64) (married, error) {
	room := s.roomForArm()
	if !s.sleeveless || m.armholeLength() >= room {
		return m, nil
	}
	var failed error
	depth, ok := root(m.depth, lowest, 0.02, func(d float64) float64 {
		tried, err := s.try(ctx, s.upper, d, s.figure.biceps)
		if err != nil {
			failed = err
		}
		return tried.armholeLength() - room
	})
	switch {
	case failed != nil:
		return m, failed
	case !ok:
		return m, refuse(fmt.Sprintf("the armhole is %.0f mm round, but the upper arm needs %.0f mm; lowering the underarm "+
			"by %.0f mm is not enough", m.armholeLength(), room, lowest-m.depth), body.UpperArmGirth, body.ScyeDepth)
	}
	s.warn("The underarm lies %.0f mm lower than without a sleeve as a rule, so that the arm passes the armhole.",
		depth-m.depth)
	return s.try(ctx, s.upper, depth, s.figure.biceps)
}

// armholeLength returns the length of the whole armhole in mm.
func (m *married) armholeLength() float64 {
	return m.armholes[back].length() + m.armholes[front].length()
}

// move drafts at the value between from and to where the ratio is the one
// wanted, or at to if it is nowhere.
func (s *suiting) move(m married, from, to float64, draft func(float64) (married, error)) (married, error) {
	if from == to {
		return m, nil
	}
	var failed error
	x, ok := root(from, to, 0.02, func(x float64) float64 {
		tried, err := draft(x)
		if err != nil {
			failed = err
		}
		return tried.ratio() - s.want
	})
	switch {
	case failed != nil:
		return m, failed
	case !ok:
		x = to
	}
	return draft(x)
}

// warnOfMarriage warns of what was changed to suit arm and armhole.
func (f *figure) warnOfMarriage(m *married) {
	if d := m.depth - f.scyeDepth; math.Abs(d) > 0.5 {
		f.warn("The underarm lies %+.0f mm from the scye depth with its ease, to suit the arm.", d)
	}
	if d := m.cap.biceps - f.biceps; math.Abs(d) > 0.5 {
		f.warn("The upper arm ease is changed by %+.0f mm, to suit the armhole.", d)
	}
	if r := m.ratio(); r < 0.22 || r > 0.42 {
		f.warn("The sleeve cap is %.0f %% of the armhole high; 26 to 37 %% hangs best.", 100*r)
	}
}
