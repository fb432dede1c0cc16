package body_test

import (
	"maps"
	"slices"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// torso are the measurements that a torso block requires.
var torso = []body.Name{
	body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength, body.BackWidth,
	body.NapeToWaist, body.WaistToHip, body.UpperArmGirth, body.WristGirth, body.ArmLength,
}

func bodyOf(t *testing.T, m body.Measures) body.Body {
	t.Helper()
	b, faults := body.New(m, nil)
	if faults != nil {
		t.Fatal(faults)
	}
	return b
}

// Without a front length or an under bust the surplus is a woman's on the
// survey's women and none on its men, by the measurements of a torso alone: on
// at least 97 of 100.
func TestBustSurplusOfTheSurvey(t *testing.T) {
	t.Parallel()
	wrong := 0
	women, men := surveytest.Women(t), surveytest.Men(t)
	for i, m := range slices.Concat(women, men) {
		b := bodyOf(t, m)
		few := body.Measures{}
		for _, n := range torso {
			few[n] = b.Value(n)
		}
		surplus, whole := bodyOf(t, few).BustSurplus().Value, b.Value(body.FrontWaistLength)-b.Value(body.NapeToWaist)-
			b.NeckRise()
		if isWoman := i < len(women); isWoman && surplus < 0.8*whole || !isWoman && surplus > 10 {
			wrong++
		}
	}
	if total := len(women) + len(men); wrong*100 > 3*total {
		t.Errorf("%d of %d bodies have the surplus of the other sex", wrong, total)
	}
}

// The size table's women have the surplus of their estimate.
func TestBustSurplusOfTheGrid(t *testing.T) {
	t.Parallel()
	for _, size := range grid {
		b := bodyOf(t, gridBody(size, 1640))
		if got := b.BustSurplus().Value; got < 11 || got > 92 {
			t.Errorf("bust %.0f: surplus %.1f mm", size[0], got)
		}
	}
}

func TestBustSurplusByWhatIsMeasured(t *testing.T) {
	t.Parallel()
	man := body.Measures{
		body.BustGirth: 1060, body.WaistGirth: 940, body.HipGirth: 1015, body.NeckBaseGirth: 435, body.ShoulderLength: 150,
		body.BackWidth: 415, body.NapeToWaist: 475, body.WaistToHip: 200, body.UpperArmGirth: 355, body.WristGirth: 175,
		body.ArmLength: 590,
	}
	for _, c := range []struct {
		name     string
		measures body.Measures
		want     float64
	}{
		{"nothing", nil, 0},
		{"a chest without a bust", body.Measures{body.UnderBustGirth: 1010}, 10},
		{"an under bust", body.Measures{body.UnderBustGirth: 900}, 25},
		{"a front length", body.Measures{body.FrontWaistLength: 475 + 0.055*435 + 3 + 5.2 + 22}, 22},
	} {
		m := maps.Clone(man)
		maps.Copy(m, c.measures)
		if got := bodyOf(t, m).BustSurplus(); got.Value < c.want-2 || got.Value > c.want+2 {
			t.Errorf("%s given: surplus %.1f mm, want about %.0f", c.name, got.Value, c.want)
		}
	}
	if got := (body.Body{}).BustSurplus(); got != (body.Measure{}) {
		t.Errorf("an empty body has a surplus: %v", got)
	}
}
