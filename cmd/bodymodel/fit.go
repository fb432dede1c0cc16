package main

import (
	"fmt"
	"maps"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// sample has the logarithms of the measures of people.
type sample struct {
	names  []body.Name
	logs   *mat.Dense           // a row per person, a column per measure
	spread []float64            // standard deviation to add to that of each column
	from   map[body.Name]string // formulas of the substitutes
}

func newSample(s survey, people []body.Measures) (sample, error) {
	var out sample
	out.names = append(out.names, s.names...)
	out.spread = make([]float64, len(s.names), len(s.names)+len(substitutes))
	for _, in := range substitutes {
		out.names = append(out.names, in.name)
		out.spread = append(out.spread, in.sd)
	}
	out.from = map[body.Name]string{}
	out.logs = mat.NewDense(len(people), len(out.names), nil)
	for i, p := range people {
		whole, from, err := complete(p, s.group == women)
		if err != nil {
			return sample{}, fmt.Errorf("%s, person %d: %w", s.file, i+1, err)
		}
		maps.Copy(out.from, from) // the same for all
		for j, n := range out.names {
			out.logs.Set(i, j, math.Log(whole[n]))
		}
	}
	return out, nil
}

// measured returns the columns that were measured. Substitutes are functions of
// them, so cross-validation cannot learn from their scatter.
func (s sample) measured() sample {
	k := len(s.names) - len(substitutes)
	rows, _ := s.logs.Dims()
	return sample{names: s.names[:k], logs: mat.DenseCopyOf(s.logs.Slice(0, rows, 0, k)), spread: s.spread[:k]}
}

func (s sample) all() []int {
	rows, _ := s.logs.Dims()
	all := make([]int, rows)
	for i := range all {
		all[i] = i
	}
	return all
}

// moments has the mean and covariance of a sample.
type moments struct {
	people     int
	mean       []float64
	covariance *mat.SymDense
}

func (s sample) moments(rows []int) moments {
	picked := mat.NewDense(len(rows), len(s.names), nil)
	for i, r := range rows {
		picked.SetRow(i, s.logs.RawRowView(r))
	}
	m := moments{people: len(rows), mean: make([]float64, len(s.names)), covariance: mat.NewSymDense(len(s.names), nil)}
	for j := range m.mean {
		m.mean[j] = stat.Mean(mat.Col(nil, j, picked), nil)
	}
	stat.CovarianceMatrix(m.covariance, picked, nil)
	for j, sd := range s.spread {
		m.covariance.SetSym(j, j, m.covariance.At(j, j)+sd*sd)
	}
	return m
}

// blend mixes a share of another group's covariance into that of m. A few hundred
// people estimate a matrix of this size only roughly, and the correlations of
// women and men are similar.
func (m moments) blend(from moments, share float64) moments {
	n := m.covariance.SymmetricDim()
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			c.SetSym(i, j, (1-share)*m.covariance.At(i, j)+share*from.covariance.At(i, j))
		}
	}
	return moments{people: m.people, mean: m.mean, covariance: c}
}

// group converts moments to a group of the model. It rounds them, so that the
// file is short and the same on every machine.
func (m moments) group(name, about string, share, freedom float64) population.Group {
	g := population.Group{Name: name, About: about, People: m.people, Share: share, Freedom: freedom}
	for i, mean := range m.mean {
		g.Mean = append(g.Mean, rounded(mean, 5))
		g.SD = append(g.SD, rounded(math.Sqrt(m.covariance.At(i, i)), 5))
		row := make([]float64, i)
		for j := range row {
			row[j] = rounded(m.covariance.At(i, j)/math.Sqrt(m.covariance.At(i, i)*m.covariance.At(j, j)), 5)
		}
		g.Correlation = append(g.Correlation, row)
	}
	return g
}

func rounded(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(v*scale) / scale
}

// choice has the parameters that cross-validation chooses.
type choice struct {
	blended float64 // share of the other group's covariance
	freedom float64
	score   float64 // mean logarithm of the density of the people left out
}

const folds = 5

// choose leaves out each fold of a sample in turn, fits to the rest and returns
// the choice that makes the people left out most likely.
func choose(own, other sample) (choice, error) {
	own, other = own.measured(), other.measured()
	others := other.moments(other.all())
	best := choice{score: math.Inf(-1)}
	for _, c := range candidates() {
		total, people := 0.0, 0
		for fold := range folds {
			train, test := split(len(own.all()), fold)
			m := own.moments(train).blend(others, c.blended)
			score, err := likelihood(m, c.freedom, own.logs, test)
			if err != nil {
				return choice{}, err
			}
			total += score
			people += len(test)
		}
		if c.score = total / float64(people); c.score > best.score {
			best = c
		}
	}
	return best, nil
}

func candidates() []choice {
	var all []choice
	for _, blended := range []float64{0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3} {
		for _, freedom := range []float64{10, 15, 20, 30, 40, 60, 100, 200} {
			all = append(all, choice{blended: blended, freedom: freedom})
		}
	}
	return all
}

func split(rows, fold int) (train, test []int) {
	for i := range rows {
		if i%folds == fold {
			test = append(test, i)
		} else {
			train = append(train, i)
		}
	}
	return train, test
}

// likelihood returns the sum of the logarithms of the densities of rows under
// the t distribution with the mean and covariance of m.
func likelihood(m moments, freedom float64, logs *mat.Dense, rows []int) (float64, error) {
	var c mat.Cholesky
	if !c.Factorize(m.covariance) {
		return 0, fmt.Errorf("the covariance of %d people is not positive definite", m.people)
	}
	n := float64(len(m.mean))
	top, _ := math.Lgamma((freedom + n) / 2)
	bottom, _ := math.Lgamma(freedom / 2)
	constant := top - bottom - n/2*math.Log((freedom-2)*math.Pi) - c.LogDet()/2
	total := 0.0
	deviation, solved := mat.NewVecDense(len(m.mean), nil), mat.NewVecDense(len(m.mean), nil)
	for _, r := range rows {
		for j, mean := range m.mean {
			deviation.SetVec(j, logs.At(r, j)-mean)
		}
		if err := c.SolveVecTo(solved, deviation); err != nil {
			return 0, err
		}
		total += constant - (freedom+n)/2*math.Log1p(mat.Dot(deviation, solved)/(freedom-2))
	}
	return total, nil
}
