package plausible

import (
	"maps"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// women returns the survey's women without heights above the floor, which
// forms do not ask for.
func women(t testing.TB) []body.Measures {
	t.Helper()
	people := surveytest.Women(t)
	for _, m := range people {
		for n := range m {
			if n != body.Height && strings.HasSuffix(string(n), "_height") {
				delete(m, n)
			}
		}
	}
	return people
}

// Few real bodies are asked about, none is refused, and mistakes are found.
// Command bodymodel -evaluate prints full tables for people held out from the
// fit.
func TestRealBodies(t *testing.T) {
	t.Parallel()
	a := Default()
	people, asked := women(t), 0
	inches, allInches := 0, 0
	for _, m := range people {
		switch a.Assess(body.Centimetre, m).Level() {
		case Refuse:
			t.Errorf("refused %v", m)
		case Confirm:
			asked++
		}
		one := maps.Clone(m)
		one[body.HipGirth] = m[body.HipGirth] / 2.54
		for _, f := range a.Assess(body.Centimetre, one).Findings {
			if f.Name == body.HipGirth && f.Explanation == OtherUnit {
				inches++
				if math.Abs(f.Corrected[body.HipGirth]-m[body.HipGirth]) > 2 {
					t.Errorf("corrected to %g, want %g", f.Corrected[body.HipGirth], m[body.HipGirth])
				}
				break
			}
		}
		every := maps.Clone(m)
		for n := range every {
			every[n] /= 2.54
		}
		if r := a.Assess(body.Centimetre, every); len(r.Findings) > 0 && r.Findings[0].Explanation == AllOtherUnit {
			allInches++
		}
	}
	n := len(people)
	if asked*100 > n {
		t.Errorf("asked about %d of %d real bodies, want at most 1 %%", asked, n)
	}
	if inches*100 < 99*n || allInches != n {
		t.Errorf("of %d, found hip in inches %d times, all in inches %d times; want 99 %% and all", n, inches, allInches)
	}
}

// Assess asks about none of the sizes of EN 13402-3 for women and men (from
// memory) and of ASTM D5585-11e1 (read on the standard's page), at any height of
// the standard or without one.
func TestStandardSizes(t *testing.T) {
	t.Parallel()
	var sets []body.Measures
	at := func(heights []float64, names []body.Name, values ...float64) {
		m := body.Measures{}
		for i, n := range names {
			m[n] = values[i]
		}
		sets = append(sets, m)
		for _, h := range heights {
			tall := maps.Clone(m)
			tall[body.Height] = h
			sets = append(sets, tall)
		}
	}
	bust := []float64{760, 800, 840, 880, 920, 960, 1000, 1040, 1100, 1160, 1220, 1280, 1340, 1400, 1460, 1520}
	waist := []float64{600, 640, 680, 720, 760, 800, 840, 880, 940, 1000, 1060, 1120, 1180, 1240, 1300, 1360}
	hip := []float64{840, 880, 920, 960, 1000, 1040, 1080, 1120, 1170, 1220, 1270, 1320, 1370, 1420, 1470, 1520}
	for i := range bust {
		at([]float64{1560, 1600, 1640, 1680, 1720, 1760, 1800},
			[]body.Name{body.BustGirth, body.WaistGirth, body.HipGirth}, bust[i], waist[i], hip[i])
	}
	chest := []float64{840, 880, 920, 960, 1000, 1040, 1080, 1120, 1160, 1200, 1260, 1320, 1380, 1440}
	waist = []float64{720, 760, 800, 840, 880, 920, 960, 1000, 1040, 1080, 1140, 1200, 1260, 1320}
	for i := range chest {
		at([]float64{1640, 1720, 1800, 1880}, []body.Name{body.BustGirth, body.WaistGirth}, chest[i], waist[i])
	}
	inches := [][]float64{ // bust, waist straight and curvy, under bust, neck base, head
		{31.125, 31.75, 33, 34.125, 35.25, 36.25, 37.25, 38.75, 40.375, 42.125, 44, 46},
		{25.375, 26.125, 26.875, 27.625, 28.5, 29.5, 30.5, 32.25, 34, 36, 38.25, 40.5},
		{23.875, 24.625, 25.375, 26.125, 27, 28, 29, 30.75, 32.5, 34.5, 36.75, 39},
		{25.75, 26.5, 27.25, 28, 29, 30, 31, 32.5, 34, 35.75, 37.625, 39.625},
		{13.25, 13.5, 13.75, 14, 14.25, 14.625, 14.875, 15.125, 15.5, 15.75, 16, 16.375},
		{21.25, 21.25, 21.5, 21.5, 21.75, 21.75, 22, 22, 22.25, 22.25, 22.5, 22.5},
	}
	inch := body.Inch.MM
	for i := range inches[0] {
		for _, waist := range inches[1:3] {
			at(nil, []body.Name{body.BustGirth, body.WaistGirth, body.UnderBustGirth, body.NeckBaseGirth, body.HeadGirth},
				inch(inches[0][i]), inch(waist[i]), inch(inches[3][i]), inch(inches[4][i]), inch(inches[5][i]))
		}
	}
	for _, m := range sets {
		if r := Default().Assess(body.Centimetre, m); r.Level() == Confirm || r.Level() == Refuse {
			t.Errorf("%v: %+v", m, r.Findings)
		}
	}
}

// Assess neither panics nor returns NaN for impossible sets.
func TestOddSets(t *testing.T) {
	t.Parallel()
	a := Default()
	for _, m := range []body.Measures{
		nil, {}, {body.BustGirth: 900}, {body.BustGirth: 0}, {body.BustGirth: -5}, {body.BustGirth: math.NaN()},
		{body.BustGirth: math.Inf(1)}, {body.BustGirth: 1e300, body.WaistGirth: 1e-300}, {"no_such": 3},
		{body.BustGirth: 900, body.WaistGirth: 900, body.HipGirth: 900, body.NeckBaseGirth: 900, body.WristGirth: 900},
		{body.ShoulderSlope: 21}, {body.ShoulderSlope: 0.001, body.Height: 1650},
	} {
		for _, unit := range body.OrderUnits() {
			wantSound(t, m, a.Assess(unit, m))
		}
	}
}

// wantSound reports an error if an assessment has a number that is not finite or a
// finding without a question.
func wantSound(t *testing.T, m body.Measures, r Assessment) {
	t.Helper()
	if math.IsNaN(r.Distance) || math.IsNaN(r.Odds) {
		t.Errorf("%v: distance %g, odds %g", m, r.Distance, r.Odds)
	}
	for _, f := range r.Findings {
		for _, v := range []float64{f.Expected, f.Low, f.High} {
			if math.IsNaN(v) || math.IsInf(v, 0) || math.IsNaN(f.Odds) {
				t.Errorf("%v: %+v", m, f)
			}
		}
		for n, v := range f.Corrected {
			if !(v > 0) || math.IsInf(v, 1) {
				t.Errorf("%v: %s corrected to %g", m, n, v)
			}
		}
		if f.Question == "" || strings.Contains(f.Question, "NaN") || strings.Contains(f.Question, "Inf") {
			t.Errorf("%v: question %q", m, f.Question)
		}
	}
}

// Sets that contain both heights and the lengths between them, so that their
// covariance is nearly singular, are assessed as any other, and so are sets with
// one number everywhere.
func TestSingularSets(t *testing.T) {
	t.Parallel()
	a := Default()
	accepted := 0
	for i, m := range surveytest.Women(t) {
		if i%20 != 0 {
			continue
		}
		m = maps.Clone(m)
		m[body.WaistToHip] = m[body.WaistHeight] - m[body.HipHeight]
		m[body.WaistToKnee] = m[body.WaistHeight] - m[body.KneeHeight]
		m[body.WaistToFloor], m[body.OutsideLeg] = m[body.WaistHeight], m[body.WaistHeight]
		m[body.BodyRise] = m[body.OutsideLeg] - m[body.InsideLeg]
		r := a.Assess(body.Centimetre, m)
		wantSound(t, m, r)
		if r.Level() == Refuse {
			t.Errorf("refused %v", m)
		}
		if r.Level() == "" {
			accepted++
		}
		same := body.Measures{}
		for _, info := range body.All() {
			same[info.Name] = m[body.BustGirth]
		}
		wantSound(t, same, a.Assess(body.Centimetre, same))
	}
	if accepted == 0 {
		t.Error("every redundant set is asked about")
	}
}

func FuzzAssess(f *testing.F) {
	a := Default()
	f.Add(900.0, 700.0, 960.0, 1640.0, 150.0)
	f.Add(2.0, 0.0002, 25651.3, 0.1265, 268.0) // found by fuzzing: converting all to the other unit gave 0
	f.Add(1e300, 1e-300, 1e300, 1e-300, 900.0)
	f.Add(5e-324, 1e308, 900.0, 1e17, 1e-17)
	f.Fuzz(func(t *testing.T, bust, waist, hip, height, wrist float64) {
		m := body.Measures{
			body.BustGirth: bust, body.WaistGirth: waist, body.HipGirth: hip, body.Height: height, body.WristGirth: wrist,
		}
		for _, unit := range body.OrderUnits() {
			wantSound(t, m, a.Assess(unit, m))
		}
	})
}

func BenchmarkAssess(b *testing.B) {
	a := Default()
	full := women(b)[0]
	torso := body.Measures{}
	for _, n := range []body.Name{
		body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength, body.BackWidth,
		body.NapeToWaist, body.UpperArmGirth, body.WristGirth, body.ArmLength, body.Height,
	} {
		torso[n] = full[n]
	}
	for name, m := range map[string]body.Measures{"torso": torso, "full": full} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				a.Assess(body.Centimetre, m)
			}
		})
	}
}
