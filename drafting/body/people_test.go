package body_test

import (
	"math"
	"testing"

	"tapeline/drafting/body"
)

// No person of the survey, and no size of the grid at any height, is refused,
// and what is estimated for them is itself a body: within the limits and
// without contradiction.
func TestRealBodiesPass(t *testing.T) {
	t.Parallel()
	for _, file := range surveyFiles {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			for i, m := range survey(t, file) {
				pass(t, i+2, m)
				delete(m, body.WaistHeight) // the estimates that heights override
				delete(m, body.NapeHeight)
				pass(t, i+2, m)
			}
		})
	}
}

func TestGridPasses(t *testing.T) {
	t.Parallel()
	for _, size := range grid {
		for _, height := range []float64{1400, 1520, 1640, 1800, 2100} {
			m := gridBody(size, height)
			pass(t, int(size[0]), m)
			for fullness := 60.0; fullness <= size[0]/3; fullness += 40 {
				m[body.UnderBustGirth] = size[0] - fullness
				pass(t, int(size[0]), m)
			}
		}
	}
}

func pass(t *testing.T, row int, m body.Measures) {
	t.Helper()
	b, faults := body.New(m, nil)
	if len(faults) > 0 {
		t.Errorf("row %d: %v", row, faults)
		return
	}
	whole := body.Measures{}
	for _, n := range b.Names() {
		whole[n] = b.Value(n)
	}
	if _, faults := body.New(whole, nil); len(faults) > 0 {
		t.Errorf("row %d with its estimates: %v", row, faults)
	}
}

// The armpit-level back width of the survey's women, brought to mid-armhole
// practice, lies on the handbook's line of 344 mm at bust 880 and 10 mm a size
// of 40 (from memory).
func TestBackWidthAgainstHandbook(t *testing.T) {
	t.Parallel()
	var got, want float64
	rows := survey(t, "bodies-women.csv")
	for _, m := range rows {
		m[body.BackWidthArmpitLevel] = m[body.BackWidth]
		delete(m, body.BackWidth)
		b, faults := body.New(m, []body.Name{body.BackWidth})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		got += b.Value(body.BackWidth)
		want += 344 + (b.Value(body.BustGirth)-880)/4
	}
	if n := float64(len(rows)); math.Abs(got-want)/n > 2 {
		t.Errorf("mean back width %.1f, handbook %.1f", got/n, want/n)
	}
}
