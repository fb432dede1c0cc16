package body_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

func names() []body.Name {
	var all []body.Name
	for _, info := range body.All() {
		all = append(all, info.Name)
	}
	return all
}

// Every estimate has a spread; given measurements and plain differences of them
// have none.
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
	// More given measurements narrow the estimate.
	few := mustNew(t, body.Measures{body.BustGirth: 880, body.Height: 1640})
	if a, b := few.Get(body.WaistToHip).Spread, b.Get(body.WaistToHip).Spread; a <= b {
		t.Errorf("spread of waist_to_hip = %.1f from two measurements, %.1f from many: want less from many", a, b)
	}
}

// The model estimates what no rule gives, but only measurements in uses.
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
		t.Errorf("waist_to_knee: %+v, want it from the trade's rule", m)
	}
	if b.Has(body.CalfGirth) {
		t.Error("calf_girth was estimated although it is not in uses")
	}
	if _, faults := body.NewIn(body.Centimetre, nil, nil, uses); len(faults) != 3 {
		t.Errorf("without measurements: %v, want all three missing", faults)
	}
	if _, faults := body.NewIn(body.Centimetre, standardFigure(), nil, []body.Name{body.HandGirth}); len(faults) != 1 {
		t.Errorf("hand_girth: %v, want it missing: the survey did not measure hands", faults)
	}
}

// Of the survey's women, with what a torso block needs given, 19 of 20 are
// within two spreads of the estimate, and hardly any beyond four.
func TestSpreadsAreHonest(t *testing.T) {
	t.Parallel()
	uses := []body.Name{body.NeckGirth, body.HeadGirth, body.ThighGirth, body.KneeGirth, body.CalfGirth,
		body.AnkleGirth, body.InsideLeg, body.NapeToWrist}
	within, beyond, all := 0, 0, 0
	for _, person := range surveytest.Women(t) {
		given := body.Measures{
			body.BackWidthArmpitLevel: person[body.BackWidth],
			body.WaistToHip:           person[body.WaistHeight] - person[body.HipHeight],
		}
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

// A body with everything estimated that can be is still free of contradictions.
func TestEstimatedBodiesAreAccepted(t *testing.T) {
	t.Parallel()
	accept := func(label string, given body.Measures) {
		wantAccepted(t, label, given, slices.DeleteFunc(names(), func(n body.Name) bool {
			return len(body.Missing(given, nil, []body.Name{n})) > 0
		}))
	}
	for _, size := range grid {
		for _, height := range []float64{1520, 1640, 1800} {
			label := fmt.Sprintf("size %v, height %g", size, height)
			accept(label, gridBody(size, height))
			accept(label, body.Measures{
				body.BustGirth: size[0], body.WaistGirth: size[1], body.HipGirth: size[2], body.Height: height,
			})
		}
	}
	for group, people := range surveys {
		for i, person := range people(t) {
			if i%20 > 0 {
				continue
			}
			label := fmt.Sprintf("%s, person %d", group, i+1)
			accept(label, person)
			few := body.Measures{}
			for _, n := range []body.Name{body.Height, body.BustGirth, body.InsideLeg, body.WristGirth} {
				few[n] = person[n]
			}
			accept(label, few)
		}
	}
}
