package population

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
)

// nearNormal returns a model of one group with enough degrees of freedom that
// its distribution is practically the normal.
func nearNormal(mean, sd []float64, correlation [][]float64) *Model {
	m := &Model{Groups: []Group{{Name: "one", Share: 1, Freedom: 1e9, Mean: mean, SD: sd, Correlation: correlation}}}
	for range mean {
		m.Measures = append(m.Measures, Measure{})
	}
	if err := m.Groups[0].prepare(len(mean)); err != nil {
		panic(err)
	}
	return m
}

// The conditional normal in two dimensions by its textbook formula (Rice,
// Mathematical Statistics and Data Analysis, 3rd edition, section 4.4, the
// heights of fathers and sons by regression towards the mean): the mean of y
// given x is μy + ρ σy/σx (x − μx), its variance σy² (1 − ρ²).
func TestConditionalInTwoDimensions(t *testing.T) {
	t.Parallel()
	const mx, my, sx, sy, rho = 68.0, 69.0, 2.7, 2.8, 0.5
	m := nearNormal([]float64{mx, my}, []float64{sx, sy}, [][]float64{{}, {rho}})
	for _, x := range []float64{60, 68, 72, 80} {
		got := m.View([]int{0}, []float64{x}).Predict(1)
		if want := my + rho*sy/sx*(x-mx); math.Abs(got.Mean-want) > 1e-6 {
			t.Errorf("given %g: mean %g, want %g", x, got.Mean, want)
		}
		if want := sy * math.Sqrt(1-rho*rho); math.Abs(got.SD-want) > 1e-6 {
			t.Errorf("given %g: standard deviation %g, want %g", x, got.SD, want)
		}
	}
}

// Conditional means and variances, and densities, agree with gonum.
func TestAgainstGonum(t *testing.T) {
	t.Parallel()
	const n = 6
	rng := rand.New(rand.NewPCG(3, 4))
	a := mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			a.Set(i, j, rng.NormFloat64())
		}
	}
	var sq mat.Dense
	sq.Mul(a, a.T())
	cov := mat.NewSymDense(n, nil)
	mean, sd := make([]float64, n), make([]float64, n)
	correlation := make([][]float64, n)
	for i := range n {
		mean[i] = rng.NormFloat64()
		for j := range i + 1 {
			cov.SetSym(i, j, sq.At(i, j))
		}
	}
	for i := range n {
		sd[i] = math.Sqrt(cov.At(i, i))
		correlation[i] = []float64{}
		for j := range i {
			correlation[i] = append(correlation[i], cov.At(i, j)/sd[i]/sd[j])
		}
	}
	m := nearNormal(mean, sd, correlation)
	normal, ok := distmv.NewNormal(mean, cov, nil)
	if !ok {
		t.Fatal("gonum refuses the covariance")
	}
	given, values := []int{0, 2, 5}, []float64{0.3, -1.2, 2}
	conditioned, ok := normal.ConditionNormal(given, values, nil)
	if !ok {
		t.Fatal("gonum cannot condition")
	}
	v := m.View(given, values)
	var want mat.SymDense
	conditioned.CovarianceMatrix(&want)
	for k, measure := range []int{1, 3, 4} {
		got := v.Predict(measure)
		if w := conditioned.Mean(nil)[k]; math.Abs(got.Mean-w) > 1e-6 {
			t.Errorf("measure %d: mean %g, gonum %g", measure, got.Mean, w)
		}
		if w := math.Sqrt(want.At(k, k)); math.Abs(got.SD-w) > 1e-6 {
			t.Errorf("measure %d: standard deviation %g, gonum %g", measure, got.SD, w)
		}
	}
	all := []int{0, 1, 2, 3, 4, 5}
	x := []float64{1, 0.5, -0.3, 0.2, -2, 1.5}
	if got, w := m.View(all, x).Density(), normal.LogProb(x); math.Abs(got-w) > 1e-5 {
		t.Errorf("density %g, gonum %g", got, w)
	}
	// Each measurement by all others, and the set without it.
	for i := range n {
		var others []int
		var values []float64
		for j := range n {
			if j != i {
				others, values = append(others, j), append(values, x[j])
			}
		}
		c, _ := normal.ConditionNormal(others, values, nil)
		if got := m.View(all, x).Expect(i); math.Abs(got.Mean-c.Mean(nil)[0]) > 1e-5 {
			t.Errorf("measure %d by the others: %g, gonum %g", i, got.Mean, c.Mean(nil)[0])
		}
		if got, want := m.View(all, x).Without(i), m.View(others, values).Density(); math.Abs(got-want) > 1e-6 {
			t.Errorf("set without %d: %g, want %g", i, got, want)
		}
	}
}

// Freedman, Pisani and Purves, Statistics, chapters 11 and 12 (from memory):
// fathers average 68 inches, sons 69, both with a spread of 2.7 and a
// correlation of 0.5. Sons of fathers of 72 inches average 71, with a root mean
// square error of √(1 − 0.5²) × 2.7 = 2.34.
func TestFathersAndSons(t *testing.T) {
	t.Parallel()
	m := nearNormal([]float64{68, 69}, []float64{2.7, 2.7}, [][]float64{{}, {0.5}})
	got := m.View([]int{0}, []float64{72}).Predict(1)
	if math.Abs(got.Mean-71) > 1e-6 || math.Abs(got.SD-2.34) > 0.005 {
		t.Errorf("sons average %.3f with %.3f, want 71 with 2.34", got.Mean, got.SD)
	}
}

// The t distribution of the model's women agrees with gonum's in the density of
// a set and the estimate of one measure by the others. Spreads widen the further
// the set lies from the middle.
func TestHeavyTailsAgainstGonum(t *testing.T) {
	t.Parallel()
	women, err := People().Only("women")
	if err != nil {
		t.Fatal(err)
	}
	g := women.Groups[0]
	n := len(g.Mean)
	const freedom = 7
	g.Freedom, g.Share = freedom, 1
	if err := g.prepare(n); err != nil {
		t.Fatal(err)
	}
	women.Groups = []Group{g}
	given := []int{0, 1, 3, 5, 9}
	mean, scale := make([]float64, len(given)), mat.NewSymDense(len(given), nil)
	for a, i := range given {
		mean[a] = g.Mean[i]
		for b, j := range given[:a+1] {
			scale.SetSym(a, b, g.scale.At(i, j))
		}
	}
	want, ok := distmv.NewStudentsT(mean, scale, freedom, nil)
	if !ok {
		t.Fatal("gonum refuses the scale matrix")
	}
	narrow := 0.0
	for _, away := range []float64{0, 0.1, 0.4} {
		x := make([]float64, len(given))
		for a := range x {
			x[a] = mean[a] + away*float64(a%2*2-1)
		}
		v := women.View(given, x)
		if got, w := v.Density(), want.LogProb(x); math.Abs(got-w) > 1e-8*math.Abs(w)+1e-8 {
			t.Errorf("%g away: density %g, gonum %g", away, got, w)
		}
		moved := append([]float64(nil), x...)
		moved[2] += 0.05
		moved[4] -= 0.07
		got, w := v.Density(Change{2, 0.05}, Change{4, -0.07}), want.LogProb(moved)
		if math.Abs(got-w) > 1e-8*math.Abs(w)+1e-8 {
			t.Errorf("%g away and moved: density %g, gonum %g", away, got, w)
		}
		for a := range given {
			var others []int
			var values []float64
			for b := range given {
				if b != a {
					others, values = append(others, b), append(values, x[b])
				}
			}
			c, ok := want.ConditionStudentsT(others, values, nil)
			if !ok {
				t.Fatal("gonum cannot condition")
			}
			var variance mat.SymDense
			c.CovarianceMatrix(&variance)
			got := v.Expect(a)
			if math.Abs(got.Mean-c.Mean(nil)[0]) > 1e-8 || math.Abs(got.SD-math.Sqrt(variance.At(0, 0))) > 1e-8 {
				t.Errorf("%g away, measure %d: %+v, gonum %g and %g", away, a, got, c.Mean(nil)[0], math.Sqrt(variance.At(0, 0)))
			}
		}
		sd := v.Predict(2).SD
		if sd <= narrow {
			t.Errorf("%g away: standard deviation %g, want more than the %g nearer the middle", away, sd, narrow)
		}
		narrow = sd
	}
}

// A mixture weighs its groups by their probabilities. If only one of two groups
// can have the set, the estimate is that group's; between two equally likely
// groups, the distance between them adds to the spread.
func TestMixture(t *testing.T) {
	t.Parallel()
	group := func(at float64) Group {
		g := Group{Share: 0.5, Freedom: 1e9, Mean: []float64{at, at}, SD: []float64{1, 1}, Correlation: [][]float64{{}, {0}}}
		if err := g.prepare(2); err != nil {
			t.Fatal(err)
		}
		return g
	}
	m := &Model{Measures: make([]Measure, 2), Groups: []Group{group(-20), group(20)}}
	if got := m.View([]int{0}, []float64{19}).Predict(1); math.Abs(got.Mean-20) > 1e-9 || math.Abs(got.SD-1) > 1e-6 {
		t.Errorf("near one group: %+v, want 20 and 1", got)
	}
	got := m.View([]int{0}, []float64{0}).Predict(1)
	if math.Abs(got.Mean) > 1e-9 || math.Abs(got.SD-math.Sqrt(401)) > 1e-6 {
		t.Errorf("between two: %+v, want 0 and √401", got)
	}
	if got := m.View(nil, nil).Predict(0); math.Abs(got.Mean) > 1e-9 {
		t.Errorf("without measurements: %+v, want 0", got)
	}
}

// The model agrees with the means and standard deviations, in mm, of the whole
// survey (ANSUR II, computed from its public files). It is fitted
// to a quarter of those people, so the standard error of a mean is 0.04 standard
// deviations and that of a standard deviation 3 %.
func TestSurveyMeans(t *testing.T) {
	t.Parallel()
	for group, published := range map[string]map[string][2]float64{
		"women": {
			"height": {1628, 64}, "bust_girth": {947, 83}, "waist_girth": {861, 100}, "hip_girth": {1021, 76},
			"neck_base_girth": {371, 20}, "shoulder_length": {135, 10}, "nape_to_waist": {425, 26},
			"back_width_armpit_level": {373, 30}, "upper_arm_girth": {306, 31}, "wrist_girth": {155, 8},
			"arm_length": {544, 29}, "head_girth": {561, 19}, "inside_leg": {782, 45}, "thigh_girth": {616, 56},
		},
		"men": {"height": {1756, 0}, "bust_girth": {1059, 0}, "waist_girth": {941, 0}, "hip_girth": {1020, 0}},
	} {
		m, err := People().Only(group)
		if err != nil {
			t.Fatal(err)
		}
		g := m.Groups[0]
		for name, want := range published {
			i := m.Index(name)
			// Mean and standard deviation of a length with a normal logarithm.
			mean := math.Exp(g.Mean[i] + g.SD[i]*g.SD[i]/2)
			sd := mean * math.Sqrt(math.Expm1(g.SD[i]*g.SD[i]))
			if math.Abs(mean-want[0]) > 3.5*0.04*sd {
				t.Errorf("%s, %s: mean %.1f, published %g", group, name, mean, want[0])
			}
			if want[1] > 0 && math.Abs(sd/want[1]-1) > 0.1 {
				t.Errorf("%s, %s: standard deviation %.1f, published %g", group, name, sd, want[1])
			}
		}
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, data := range []string{
		``, `{}`, `{"measures": [{"name": "a"}], "groups": [{"mean": [1], "sd": [1]}]}`,
		`{"measures": [{"name": "a"}, {"name": "b"}], "groups": [
			{"share": 1, "freedom": 9, "mean": [1, 1], "sd": [1, 1], "correlation": [[], [1.5]]}]}`,
		`{"measures": [{"name": "a"}], "groups": [{"share": 1, "freedom": 1, "mean": [1], "sd": [1], "correlation": [[]]}]}`,
	} {
		if _, err := Parse([]byte(data)); err == nil {
			t.Errorf("Parse(%s) succeeded, want an error", data)
		}
	}
}
