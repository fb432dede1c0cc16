package body_test

import (
	"fmt"
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// New accepts every person of the survey, and the estimates it adds are inside
// the limits and contradict nothing.
func TestRealBodiesPass(t *testing.T) {
	t.Parallel()
	for group, people := range surveys {
		t.Run(group, func(t *testing.T) {
			t.Parallel()
			for i, m := range people(t) {
				label := fmt.Sprintf("person %d", i+1)
				wantAccepted(t, label, m, nil)
				delete(m, body.WaistHeight) // with heights, other rules apply
				delete(m, body.NapeHeight)
				wantAccepted(t, label, m, nil)
			}
		})
	}
}

// So it does every size of the grid at any height and cup.
func TestGridPasses(t *testing.T) {
	t.Parallel()
	for _, size := range grid {
		for _, height := range []float64{1400, 1520, 1640, 1800, 2100} {
			m := gridBody(size, height)
			wantAccepted(t, fmt.Sprintf("size %v", size), m, nil)
			for fullness := 60.0; fullness <= size[0]/3; fullness += 40 {
				m[body.UnderBustGirth] = size[0] - fullness
				wantAccepted(t, fmt.Sprintf("size %v", size), m, nil)
			}
		}
	}
}

// wantAccepted reports an error if the measurements, or those measurements with
// their estimates, are refused.
func wantAccepted(t *testing.T, label string, m body.Measures, uses []body.Name) {
	t.Helper()
	b, faults := body.NewIn(body.Centimetre, m, nil, uses)
	if len(faults) > 0 {
		t.Errorf("%s: %v", label, faults)
		return
	}
	whole := body.Measures{}
	for _, n := range b.Names() {
		whole[n] = b.Value(n)
	}
	if _, faults := body.New(whole, nil); len(faults) > 0 {
		t.Errorf("%s with its estimates: %v", label, faults)
	}
}

// The back width that New estimates from the survey's armpit-level back width
// is on average that of the handbook: 344 mm at bust 880, and 10 mm more per
// size of 40 mm (from memory).
func TestBackWidthAgainstHandbook(t *testing.T) {
	t.Parallel()
	var got, want float64
	people := surveytest.Women(t)
	for _, m := range people {
		m[body.BackWidthArmpitLevel] = m[body.BackWidth]
		delete(m, body.BackWidth)
		b, faults := body.New(m, []body.Name{body.BackWidth})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		got += b.Value(body.BackWidth)
		want += 344 + (b.Value(body.BustGirth)-880)/4
	}
	if n := float64(len(people)); math.Abs(got-want)/n > 2 {
		t.Errorf("mean back width %.1f, handbook %.1f", got/n, want/n)
	}
}
