// Package population models how the measurements of a body depend on each
// other. For each of several groups of people it knows the joint distribution
// of the logarithms of all measurements, and from some measurements it predicts
// the others. The package is arithmetic only: its callers know which
// measurement has which index.
//
// The distribution is the multivariate t (Kotz and Nadarajah, Multivariate t
// Distributions, 2004). Its conditional means are those of the multivariate
// normal with the same scale matrix. Its conditional spreads are the normal's,
// widened the further the given measurements lie from the middle of the group.
// So the model judges a body beyond the surveyed range more gently, and one
// strange measurement does not discredit the rest. With many degrees of
// freedom the distribution is the normal.
package population

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Model is a mixture of groups of people.
type Model struct {
	Source   string    `json:"source"`   // of the data, and which of them were used
	Measures []Measure `json:"measures"` // in the order of the groups' vectors
	Groups   []Group   `json:"groups"`
}

// Measure is a measurement that the model covers.
type Measure struct {
	Name     string `json:"name"`
	Surveyed bool   `json:"surveyed"` // measured on people, or a difference of such measures
	From     string `json:"from"`     // origin: "measured", or the formula
}

// Group is a group of people. Logarithms are natural, of mm (degrees for the
// shoulder slope).
type Group struct {
	Name    string    `json:"name"`
	About   string    `json:"about"`
	People  int       `json:"people"`  // in the sample it was fitted to
	Share   float64   `json:"share"`   // of all bodies: the prior probability
	Freedom float64   `json:"freedom"` // degrees of freedom of the t distribution, above 2
	Mean    []float64 `json:"mean"`    // of the logarithms
	SD      []float64 `json:"sd"`      // of the logarithms
	// Correlation of the logarithms: row i has those with measures 0 to i-1.
	Correlation [][]float64 `json:"correlation"`

	scale *mat.SymDense // covariance times (Freedom-2)/Freedom
}

// Parse parses and validates a model. Every group's correlations must form a
// positive definite matrix.
func Parse(data []byte) (*Model, error) {
	var m Model
	if err := json.Unmarshal(data, &m); err != nil {
		return nil, fmt.Errorf("population model: %w", err)
	}
	if len(m.Measures) == 0 || len(m.Groups) == 0 {
		return nil, fmt.Errorf("population model: %d measures in %d groups", len(m.Measures), len(m.Groups))
	}
	for i := range m.Groups {
		if err := m.Groups[i].prepare(len(m.Measures)); err != nil {
			return nil, fmt.Errorf("population model: group %q: %w", m.Groups[i].Name, err)
		}
	}
	return &m, nil
}

// prepare validates the group and computes the scale matrix of n measures.
func (g *Group) prepare(n int) error {
	if len(g.Mean) != n || len(g.SD) != n || len(g.Correlation) != n {
		return fmt.Errorf("%d means, %d standard deviations and %d rows of correlations for %d measures",
			len(g.Mean), len(g.SD), len(g.Correlation), n)
	}
	if !(g.Freedom > 2) || !(g.Share > 0) {
		return fmt.Errorf("share %g must be above 0 and freedom %g above 2", g.Share, g.Freedom)
	}
	g.scale = mat.NewSymDense(n, nil)
	shrink := (g.Freedom - 2) / g.Freedom
	for i, row := range g.Correlation {
		if len(row) != i {
			return fmt.Errorf("%d correlations in row %d", len(row), i)
		}
		g.scale.SetSym(i, i, g.SD[i]*g.SD[i]*shrink)
		for j, c := range row {
			g.scale.SetSym(i, j, g.SD[i]*g.SD[j]*c*shrink)
		}
	}
	for _, v := range slices.Concat(g.scale.RawSymmetric().Data, g.Mean) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%g is not a finite number", v)
		}
	}
	var cholesky mat.Cholesky
	if !cholesky.Factorize(g.scale) {
		return errors.New("correlations are not positive definite")
	}
	return nil
}

// Index returns the index of a measure, -1 if the model lacks it.
func (m *Model) Index(name string) int {
	return slices.IndexFunc(m.Measures, func(measure Measure) bool { return measure.Name == name })
}

// Only returns a model of the named groups.
func (m *Model) Only(groups ...string) (*Model, error) {
	only := *m
	only.Groups = nil
	for _, name := range groups {
		i := slices.IndexFunc(m.Groups, func(g Group) bool { return g.Name == name })
		if i < 0 {
			return nil, fmt.Errorf("population model: no group %q", name)
		}
		only.Groups = append(only.Groups, m.Groups[i])
	}
	if len(only.Groups) == 0 {
		return nil, errors.New("population model: no groups")
	}
	return &only, nil
}
