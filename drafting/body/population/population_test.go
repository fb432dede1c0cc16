package population

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
)

// nearNormal is a group of many degrees of freedom: the normal distribution.
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
			t.Errorf("given %g: spread %g, want %g", x, got.SD, want)
		}
	}
}

// Conditional means and variances, and densities, by gonum.
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
		t.Fatal("no covariance")
	}
	given, values := []int{0, 2, 5}, []float64{0.3, -1.2, 2}
	conditioned, ok := normal.ConditionNormal(given, values, nil)
	if !ok {
		t.Fatal("gonum can't condition")
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
			t.Errorf("measure %d: spread %g, gonum %g", measure, got.SD, w)
		}
	}
	all := []int{0, 1, 2, 3, 4, 5}
	x := []float64{1, 0.5, -0.3, 0.2, -2, 1.5}
	if got, w := m.View(all, x).Density(), normal.LogProb(x); math.Abs(got-w) > 1e-5 {
		t.Errorf("density %g, gonum %g", got, w)
	}
	// Each measurement given all the others, and the set without it.
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

// The survey's published means and spreads (ANSUR II, women n 1986, men n 4082;
// PUBLISHED.md section 1), of which a quarter of the people were fitted: within a fifth
// of a spread.
func TestSurveyMeans(t *testing.T) {
	t.Parallel()
	m := People()
	for _, tt := range []struct {
		group, name string
		mean, sd    float64
	}{
		{"women of the survey", "height", 1628, 64}, {"women of the survey", "bust_girth", 947, 83},
		{"women of the survey", "waist_girth", 861, 100}, {"women of the survey", "hip_girth", 1021, 76},
		{"women of the survey", "shoulder_length", 135, 10}, {"women of the survey", "wrist_girth", 155, 8},
		{"men", "height", 1756, 69}, {"men", "bust_girth", 1059, 87},
	} {
		i := m.Index(tt.name)
		found := false
		for _, g := range m.Groups {
			if len(g.About) == 0 || g.Name != tt.group && g.Name != map[string]string{"women of the survey": "women"}[tt.group] {
				continue
			}
			found = true
			if got := math.Exp(g.Mean[i]); math.Abs(got-tt.mean) > 0.2*tt.sd {
				t.Errorf("%s of %s: %g mm, published %g", tt.name, g.Name, got, tt.mean)
			}
			break
		}
		if !found {
			t.Errorf("no group %q", tt.group)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, data := range []string{
		``, `{}`, `{"measures": [{"name": "a"}], "groups": [{"mean": [1], "sd": [1]}]}`,
		`{"measures": [{"name": "a"}, {"name": "b"}], "groups": [{"share": 1, "freedom": 9, "mean": [1, 1], "sd": [1, 1], "correlation": [[], [1.5]]}]}`,
		`{"measures": [{"name": "a"}], "groups": [{"share": 1, "freedom": 1, "mean": [1], "sd": [1], "correlation": [[]]}]}`,
	} {
		if _, err := Parse([]byte(data)); err == nil {
			t.Errorf("%s was taken", data)
		}
	}
}
