package plausible

import (
	"maps"
	"math"
	"slices"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// figure returns an ordinary set of measurements.
func figure() body.Measures {
	return inCentimetres(map[body.Name]float64{
		body.Height: 166, body.BustGirth: 92.5, body.WaistGirth: 75, body.HipGirth: 99.5, body.NeckBaseGirth: 37,
		body.ShoulderLength: 12.8, body.BackWidth: 35.5, body.NapeToWaist: 41.2, body.WaistToHip: 20.5,
		body.UpperArmGirth: 28.6, body.WristGirth: 15.8, body.ArmLength: 55.4, body.ThighGirth: 59.1, body.KneeGirth: 37.9,
	})
}

func inCentimetres(values map[body.Name]float64) body.Measures {
	m := body.Measures{}
	for n, v := range values {
		m[n] = body.Centimetre.MM(v)
	}
	return m
}

func TestOrdinarySetRaisesNothing(t *testing.T) {
	t.Parallel()
	if r := Default().Assess(body.Centimetre, figure()); len(r.Findings) > 0 || r.Distance > 1.5 || r.Odds > 0.05 {
		t.Errorf("assessment = %+v", r)
	}
}

// Every kind of mistake is explained, corrected and asked about.
func TestExplanations(t *testing.T) {
	t.Parallel()
	cm := body.Centimetre.MM
	for _, tt := range []struct {
		name      string
		change    map[body.Name]float64 // cm
		want      Explanation
		at        body.Name
		corrected body.Measures
		question  string
	}{
		{"inches", map[body.Name]float64{body.ThighGirth: 23.25}, OtherUnit, body.ThighGirth,
			body.Measures{body.ThighGirth: cm(59.1)},
			"Thigh is given as 23.25 cm. Was the number read in inches? Then it is 59.1 cm."},
		{"exchanged", map[body.Name]float64{body.UpperArmGirth: 37.9, body.KneeGirth: 28.6}, Exchanged, body.KneeGirth,
			body.Measures{body.UpperArmGirth: cm(28.6), body.KneeGirth: cm(37.9)},
			"Knee is given as 28.6 cm and upper arm as 37.9 cm. Were the two exchanged?"},
		{"digits", map[body.Name]float64{body.ThighGirth: 95.1}, DigitsSwapped, body.ThighGirth,
			body.Measures{body.ThighGirth: cm(59.1)},
			"Thigh is given as 95.1 cm. Is it 59.1 cm, with two digits in the other order?"},
		{"leading digit", map[body.Name]float64{body.Height: 266}, LeadingDigit, body.Height,
			body.Measures{body.Height: cm(166)},
			"Height is given as 266 cm. Is it 166 cm, with another first digit?"},
		{"a digit lost", map[body.Name]float64{body.Height: 69}, LeadingDigit, body.Height,
			body.Measures{body.Height: cm(169)},
			"Height is given as 69 cm. Is it 169 cm, with another first digit?"},
		{"ten less", map[body.Name]float64{body.NeckBaseGirth: 47}, TenOff, body.NeckBaseGirth,
			body.Measures{body.NeckBaseGirth: cm(37)},
			"Neck base is given as 47 cm. Is it 37 cm, ten less?"},
		{"ten more", map[body.Name]float64{body.ArmLength: 45.4}, TenOff, body.ArmLength,
			body.Measures{body.ArmLength: cm(55.4)},
			"Arm length is given as 45.4 cm. Is it 55.4 cm, ten more?"},
		{"doubled", map[body.Name]float64{body.UpperArmGirth: 57.2}, Doubled, body.UpperArmGirth,
			body.Measures{body.UpperArmGirth: cm(28.6)},
			"Upper arm is given as 57.2 cm. Was it doubled? Then it is 28.6 cm."},
		{"halved", map[body.Name]float64{body.HipGirth: 49.75}, Halved, body.HipGirth,
			body.Measures{body.HipGirth: cm(99.5)},
			"Hip is given as 49.75 cm. Was only half of it measured? Then it is 99.5 cm."},
		{"decimal point", map[body.Name]float64{body.ShoulderLength: 128}, DecimalPoint, body.ShoulderLength,
			body.Measures{body.ShoulderLength: cm(12.8)},
			"Shoulder is given as 128 cm. Is it 12.8 cm, with the decimal point elsewhere?"},
		{"slip", map[body.Name]float64{body.ShoulderLength: 18.6}, Slip, body.ShoulderLength, nil, ""},
	} {
		m := figure()
		maps.Copy(m, inCentimetres(tt.change))
		r := Default().Assess(body.Centimetre, m)
		if len(r.Findings) != 1 {
			t.Errorf("%s: findings %+v, want one", tt.name, r.Findings)
			continue
		}
		f := r.Findings[0]
		if f.Explanation != tt.want || f.Name != tt.at || !maps.EqualFunc(f.Corrected, tt.corrected, same) {
			t.Errorf("%s: %s of %s, corrected %v; want %s of %s, corrected %v",
				tt.name, f.Explanation, f.Name, f.Corrected, tt.want, tt.at, tt.corrected)
		}
		if tt.question != "" && f.Question != tt.question {
			t.Errorf("%s: question %q, want %q", tt.name, f.Question, tt.question)
		}
		if f.Level == Note || f.Field != body.Field(tt.at) || f.Given != m[tt.at] ||
			!(f.Low < f.Expected && f.Expected < f.High) {
			t.Errorf("%s: %+v", tt.name, f)
		}
		truth, ok := tt.corrected[tt.at]
		if !ok {
			truth = figure()[tt.at]
		}
		if truth < f.Low || truth > f.High {
			t.Errorf("%s: expected %.0f to %.0f, which excludes the true %.0f", tt.name, f.Low, f.High, truth)
		}
	}
}

func TestSlipIsAskedWithRange(t *testing.T) {
	t.Parallel()
	m := figure()
	m[body.ShoulderLength] = 186
	f := Default().Assess(body.Centimetre, m).Findings[0]
	want := "Shoulder is given as 18.6 cm; with the other numbers it is usually from 12.2 cm to 15.4 cm. " +
		"Would you measure it again, side neck point to shoulder point, at the end of the collar bone?"
	if f.Question != want {
		t.Errorf("question %q\nwant     %q", f.Question, want)
	}
}

// All numbers in the other unit make one finding about the set, in either unit,
// even if one number is in the right one.
func TestAllInTheOtherUnit(t *testing.T) {
	t.Parallel()
	a := Default()
	for _, unit := range body.OrderUnits() {
		for _, rightOne := range []body.Name{"", body.HipGirth} {
			m := figure()
			for n, mm := range m {
				if n != rightOne {
					m[n] = unit.MM(opposite(unit).From(mm))
				}
			}
			r := a.Assess(unit, m)
			if len(r.Findings) != 1 || r.Findings[0].Explanation != AllOtherUnit || r.Findings[0].Field != "/measurements" {
				t.Errorf("%s, right %q: %+v", unit, rightOne, r.Findings)
				continue
			}
			for n, mm := range r.Findings[0].Corrected {
				if !same(mm, figure()[n]) {
					t.Errorf("%s: %s corrected to %g, want %g", unit, n, mm, figure()[n])
				}
			}
		}
	}
}

// Each of several mistakes is found with the others undone.
func TestSeveralMistakes(t *testing.T) {
	t.Parallel()
	m := figure()
	m[body.WristGirth] = 62           // inches
	m[body.BustGirth] = 1425          // another first digit
	m[body.KneeGirth] = 2 * 379       // doubled
	m[body.NeckBaseGirth] = 370 + 100 // ten off
	r := Default().Assess(body.Centimetre, m)
	got := map[body.Name]Explanation{}
	for _, f := range r.Findings {
		got[f.Name] = f.Explanation
		if truth := figure()[f.Name]; truth < f.Low || truth > f.High {
			t.Errorf("%s: expected %.0f to %.0f, which excludes the true %.0f", f.Name, f.Low, f.High, truth)
		}
	}
	for n, want := range map[body.Name]Explanation{
		body.WristGirth: OtherUnit, body.KneeGirth: Doubled, body.NeckBaseGirth: TenOff,
	} {
		if got[n] != want {
			t.Errorf("%s: %s, want %s", n, got[n], want)
		}
	}
	if got[body.BustGirth] == "" || len(got) != 4 {
		t.Errorf("found %v, want four", got)
	}
}

// Numbers that are all wrong, some too large and some too small, make a finding
// about the set.
func TestUnusualSet(t *testing.T) {
	t.Parallel()
	m := figure()
	sign := 1.0
	for _, n := range slices.Sorted(maps.Keys(m)) {
		m[n] *= 1 + 0.12*sign
		sign = -sign
	}
	r := Default().Assess(body.Centimetre, m)
	if r.Level() != Confirm || r.Distance < 3 {
		t.Errorf("assessment = %+v", r)
	}
	i := slices.IndexFunc(r.Findings, func(f Finding) bool { return f.Explanation == Unusual })
	if i < 0 {
		t.Fatalf("findings = %+v", r.Findings)
	}
	if f := r.Findings[i]; f.Field != "/measurements" || f.Corrected != nil || f.Name != "" {
		t.Errorf("finding = %+v", f)
	}
}

func TestLevels(t *testing.T) {
	t.Parallel()
	m := figure()
	m[body.NapeToWaist] += 45
	at := func(l Levels) Level {
		a, err := New(population.People(), l)
		if err != nil {
			t.Fatal(err)
		}
		return a.Assess(body.Centimetre, m).Level()
	}
	odds := Default().Assess(body.Centimetre, m).Odds
	for _, tt := range []struct {
		levels Levels
		want   Level
	}{
		{Levels{2 * odds, 2 * odds, math.Inf(1)}, ""}, {Levels{odds / 2, 2 * odds, math.Inf(1)}, Note},
		{Levels{odds / 4, odds / 2, math.Inf(1)}, Confirm}, {Levels{odds / 4, odds / 3, odds / 2}, Refuse},
	} {
		if got := at(tt.levels); got != tt.want {
			t.Errorf("%+v at odds %g: %q, want %q", tt.levels, odds, got, tt.want)
		}
	}
	for _, l := range []Levels{{}, {1, 0.5, 2}, {1, 2, 1.5}, {-1, 1, 2}, {math.NaN(), 1, 2}} {
		if _, err := New(population.People(), l); err == nil {
			t.Errorf("New accepts levels %+v", l)
		}
	}
}

// A number outside the hard limits is refused at any odds, and explained.
func TestOutsideTheLimitsIsRefused(t *testing.T) {
	t.Parallel()
	m := figure()
	m[body.BustGirth] = 364
	r := Default().Assess(body.Centimetre, m)
	if len(r.Findings) != 1 || r.Findings[0].Level != Refuse || r.Findings[0].Explanation != OtherUnit {
		t.Errorf("findings = %+v", r.Findings)
	}
}

func TestFewAllocations(t *testing.T) {
	a, m := Default(), figure()
	if n := testing.AllocsPerRun(100, func() { a.Assess(body.Centimetre, m) }); n > 80 {
		t.Errorf("%g allocations, want at most 80", n)
	}
}
