package body_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"tapeline/drafting/body"
)

func names() []body.Name {
	var all []body.Name
	for _, info := range body.All() {
		all = append(all, info.Name)
	}
	return all
}

// Every estimate says how far it may be off; what was taken, or is the sum of
// what was, is not off.
func TestSpread(t *testing.T) {
	t.Parallel()
	m := standardFigure()
	m[body.OutsideLeg] = 1040
	b := mustNew(t, m)
	for _, n := range b.Names() {
		got := b.Get(n)
		if got.Estimated != (got.Spread > 0) || got.Spread > 0.3*got.Value {
			t.Errorf("%s: %+v", n, got)
		}
	}
	// The more that is known, the less there is to guess.
	few := mustNew(t, body.Measures{body.BustGirth: 880, body.Height: 1640})
	if a, b := few.Get(body.WaistToHip).Spread, b.Get(body.WaistToHip).Spread; a <= b {
		t.Errorf("waist_to_hip is off by %.1f with little known, by %.1f with much", a, b)
	}
}

// What no rule gives comes from the model, but only where it is asked for.
func TestModelFillsIn(t *testing.T) {
	t.Parallel()
	uses := []body.Name{body.ThighGirth, body.HeadGirth, body.WaistToKnee}
	b, faults := body.NewIn(body.Centimetre, standardFigure(), nil, uses)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, n := range uses[:2] {
		if m := b.Get(n); !m.Estimated || m.Source != body.ModelSource || m.Spread <= 0 {
			t.Errorf("%s: %+v", n, m)
		}
	}
	if m := b.Get(body.WaistToKnee); m.Source == body.ModelSource {
		t.Errorf("waist_to_knee: %+v, want the trade's rule", m)
	}
	if b.Has(body.CalfGirth) {
		t.Error("calf_girth is there though nothing uses it")
	}
	if _, faults := body.NewIn(body.Centimetre, nil, nil, uses); len(faults) != 3 {
		t.Errorf("with nothing given: %v, want all three missing", faults)
	}
	if _, faults := body.NewIn(body.Centimetre, standardFigure(), nil, []body.Name{body.HandGirth}); len(faults) != 1 {
		t.Errorf("hand_girth: %v, want it missing: the survey has no hands", faults)
	}
}

// Of the survey's women, left with what a torso block needs, 19 of 20 lie
// within two spreads of what is expected of them, and hardly one beyond four.
func TestSpreadsAreHonest(t *testing.T) {
	t.Parallel()
	uses := []body.Name{body.NeckGirth, body.HeadGirth, body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth, body.InsideLeg, body.NapeToWrist}
	within, beyond, all := 0, 0, 0
	for _, person := range survey(t, surveyFiles[0]) {
		given := body.Measures{body.BackWidthArmpitLevel: person[body.BackWidth], body.WaistToHip: person[body.WaistHeight] - person[body.HipHeight]}
		for _, n := range []body.Name{body.Height, body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth,
			body.ShoulderLength, body.NapeToWaist, body.UpperArmGirth, body.WristGirth, body.ArmLength} {
			given[n] = person[n]
		}
		b, faults := body.NewIn(body.Centimetre, given, nil, uses)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		for _, n := range uses {
			m := b.Get(n)
			off := math.Abs(m.Value-person[n]) / m.Spread
			all++
			if off < 1.96 {
				within++
			}
			if off > 4 {
				beyond++
			}
		}
	}
	if share := float64(within) / float64(all); share < 0.935 || share > 0.975 || beyond*2000 > all {
		t.Errorf("%.1f %% of %d within two spreads, %d beyond four", 100*share, all, beyond)
	}
}

// With everything estimated that can be, a body is still one: no contradiction.
func TestWholeBodiesPass(t *testing.T) {
	t.Parallel()
	check := func(label any, given body.Measures) {
		uses := slices.DeleteFunc(names(), func(n body.Name) bool {
			return len(body.Missing(given, nil, []body.Name{n})) > 0
		})
		b, faults := body.NewIn(body.Centimetre, given, nil, uses)
		if len(faults) > 0 {
			t.Errorf("%v: %v", label, faults)
			return
		}
		whole := body.Measures{}
		for _, n := range b.Names() {
			whole[n] = b.Value(n)
		}
		if _, faults := body.New(whole, nil); len(faults) > 0 {
			t.Errorf("%v with its estimates: %v", label, faults)
		}
	}
	for _, size := range grid {
		for _, height := range []float64{1520, 1640, 1800} {
			check(size, gridBody(size, height))
			check(size, body.Measures{body.BustGirth: size[0], body.WaistGirth: size[1], body.HipGirth: size[2], body.Height: height})
		}
	}
	for _, file := range surveyFiles {
		for i, person := range survey(t, file) {
			if i%5 > 0 {
				continue
			}
			check(i, person)
			short := maps.Clone(person)
			maps.DeleteFunc(short, func(n body.Name, _ float64) bool {
				return n != body.Height && n != body.BustGirth && n != body.InsideLeg && n != body.WristGirth
			})
			check(i, short)
		}
	}
}
