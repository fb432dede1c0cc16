package plausible

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
	"tapeline/drafting/body/surveytest"
)

func checker(t testing.TB) *Checker {
	t.Helper()
	c, err := New(population.People(), DefaultLevels)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// women are the survey's, as a form would ask: without heights above the floor.
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

func clone(m body.Measures) body.Measures {
	c := body.Measures{}
	for n, v := range m {
		c[n] = v
	}
	return c
}

// Real bodies are left alone, and mistakes found. The full tables, on people
// held out from the fit, are printed by
// go run ./cmd/bodymodel -evaluate; this is the short of it.
func TestRealBodies(t *testing.T) {
	t.Parallel()
	c := checker(t)
	people, asked := women(t), 0
	inches, allInches := 0, 0
	for _, m := range people {
		switch c.Check(body.Centimetre, m).Level() {
		case Refuse:
			t.Errorf("refused %v", m)
		case Confirm:
			asked++
		}
		one := clone(m)
		one[body.HipGirth] = m[body.HipGirth] / 2.54
		for _, f := range c.Check(body.Centimetre, one).Findings {
			if f.Name == body.HipGirth && f.Explanation == OtherUnit {
				inches++
				if math.Abs(f.Corrected[body.HipGirth]-m[body.HipGirth]) > 2 {
					t.Errorf("corrected to %g, was %g", f.Corrected[body.HipGirth], m[body.HipGirth])
				}
				break
			}
		}
		every := clone(m)
		for n := range every {
			every[n] /= 2.54
		}
		if r := c.Check(body.Centimetre, every); len(r.Findings) > 0 && r.Findings[0].Explanation == AllOtherUnit {
			allInches++
		}
	}
	n := len(people)
	t.Logf("of %d real women %d are asked about; hip in inches named %d times, all in inches %d", n, asked, inches, allInches)
	if asked*100 > n {
		t.Errorf("%d of %d real bodies are asked about", asked, n)
	}
	if inches*100 < 99*n || allInches != n {
		t.Errorf("hip in inches named for %d of %d, all in inches for %d", inches, n, allInches)
	}
}

// The sizes of EN 13402-3 for women and men (from memory) and of ASTM
// D5585-11e1 (read on the standard's page) are bodies that exist: none is asked
// about at any height of the standard, nor without one.
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
			tall := clone(m)
			tall[body.Height] = h
			sets = append(sets, tall)
		}
	}
	bust := []float64{760, 800, 840, 880, 920, 960, 1000, 1040, 1100, 1160, 1220, 1280, 1340, 1400, 1460, 1520}
	waist := []float64{600, 640, 680, 720, 760, 800, 840, 880, 940, 1000, 1060, 1120, 1180, 1240, 1300, 1360}
	hip := []float64{840, 880, 920, 960, 1000, 1040, 1080, 1120, 1170, 1220, 1270, 1320, 1370, 1420, 1470, 1520}
	for i := range bust {
		at([]float64{1560, 1600, 1640, 1680, 1720, 1760, 1800}, []body.Name{body.BustGirth, body.WaistGirth, body.HipGirth}, bust[i], waist[i], hip[i])
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
	for i := range inches[0] {
		for _, waist := range inches[1:3] {
			at(nil, []body.Name{body.BustGirth, body.WaistGirth, body.UnderBustGirth, body.NeckBaseGirth, body.HeadGirth},
				body.Inch.MM(inches[0][i]), body.Inch.MM(waist[i]), body.Inch.MM(inches[3][i]), body.Inch.MM(inches[4][i]), body.Inch.MM(inches[5][i]))
		}
	}
	for _, m := range sets {
		if r := checker(t).Check(body.Centimetre, m); r.Level() == Confirm || r.Level() == Refuse {
			t.Errorf("%v: %+v", m, r.Findings)
		}
	}
}

// Whatever comes in, a report comes out: no panic, no NaN.
func TestOddSets(t *testing.T) {
	t.Parallel()
	c := checker(t)
	for _, m := range []body.Measures{
		nil, {}, {body.BustGirth: 900}, {body.BustGirth: 0}, {body.BustGirth: -5}, {body.BustGirth: math.NaN()},
		{body.BustGirth: math.Inf(1)}, {body.BustGirth: 1e300, body.WaistGirth: 1e-300}, {"no_such": 3},
		{body.BustGirth: 900, body.WaistGirth: 900, body.HipGirth: 900, body.NeckBaseGirth: 900, body.WristGirth: 900},
		{body.ShoulderSlope: 21}, {body.ShoulderSlope: 0.001, body.Height: 1650},
	} {
		for _, unit := range body.OrderUnits() {
			sound(t, m, c.Check(unit, m))
		}
	}
}

// sound fails the test where a report holds what is no number, or no question.
func sound(t *testing.T, m body.Measures, r Report) {
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
				t.Errorf("%v: %s put right to %g", m, n, v)
			}
		}
		if f.Question == "" || strings.Contains(f.Question, "NaN") || strings.Contains(f.Question, "Inf") {
			t.Errorf("%v: question %q", m, f.Question)
		}
	}
}

// Heights with the very lengths between them say everything twice: such sets,
// whose covariance is singular but for rounding, and sets with one number in
// all places, are checked as any other.
func TestSingularSets(t *testing.T) {
	t.Parallel()
	c := checker(t)
	twice := 0
	for i, m := range surveytest.Women(t) {
		if i%20 != 0 {
			continue
		}
		m = clone(m)
		m[body.WaistToHip] = m[body.WaistHeight] - m[body.HipHeight]
		m[body.WaistToKnee] = m[body.WaistHeight] - m[body.KneeHeight]
		m[body.WaistToFloor], m[body.OutsideLeg] = m[body.WaistHeight], m[body.WaistHeight]
		m[body.BodyRise] = m[body.OutsideLeg] - m[body.InsideLeg]
		r := c.Check(body.Centimetre, m)
		sound(t, m, r)
		if r.Level() == Refuse {
			t.Errorf("refused %v", m)
		}
		if r.Level() == "" {
			twice++
		}
		same := body.Measures{}
		for _, info := range body.All() {
			same[info.Name] = m[body.BustGirth]
		}
		sound(t, same, c.Check(body.Centimetre, same))
	}
	if twice == 0 {
		t.Error("every set that says things twice is asked about")
	}
}

func FuzzCheck(f *testing.F) {
	c := checker(f)
	f.Add(900.0, 700.0, 960.0, 1640.0, 150.0)
	f.Add(2.0, 0.0002, 25651.3, 0.1265, 268.0) // found by fuzzing: all in the other unit came to 0
	f.Add(1e300, 1e-300, 1e300, 1e-300, 900.0)
	f.Add(5e-324, 1e308, 900.0, 1e17, 1e-17)
	f.Fuzz(func(t *testing.T, bust, waist, hip, height, wrist float64) {
		m := body.Measures{body.BustGirth: bust, body.WaistGirth: waist, body.HipGirth: hip, body.Height: height, body.WristGirth: wrist}
		for _, unit := range body.OrderUnits() {
			sound(t, m, c.Check(unit, m))
		}
	})
}

func BenchmarkCheck(b *testing.B) {
	c := checker(b)
	full := women(b)[0]
	torso := body.Measures{}
	for _, n := range []body.Name{body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength, body.BackWidth, body.NapeToWaist, body.UpperArmGirth, body.WristGirth, body.ArmLength, body.Height} {
		torso[n] = full[n]
	}
	for name, m := range map[string]body.Measures{"torso": torso, "full": full} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Check(body.Centimetre, m)
			}
		})
	}
}
