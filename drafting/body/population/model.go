// Package population knows how the measurements of a body hang together: for
// each of several groups of people the distribution of the logarithms of all
// measurements at once, and from any of them what to expect of the others. It
// is arithmetic alone: which measurement stands where is the caller's matter.
//
// The distribution is the multivariate t (Kotz and Nadarajah, Multivariate t
// Distributions, 2004). Its conditional means are those of the multivariate
// normal with the same scale matrix; its spreads are the normal's, widened the
// further the measurements that are known lie from the middle of the group. So
// a body beyond the range that was surveyed is judged more gently, and one
// strange measurement doesn't condemn the rest. With many degrees of freedom
// it is the normal distribution.
package population

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Model is what is known of bodies.
type Model struct {
	Source   string    `json:"source"`   // the data behind it and how they were used
	Measures []Measure `json:"measures"` // in the order of every vector here
	Groups   []Group   `json:"groups"`
}

// Measure is one measurement that the model covers.
type Measure struct {
	Name     string `json:"name"`
	Surveyed bool   `json:"surveyed"` // measured on people, or the difference of what was
	From     string `json:"from"`     // what it is in the data, or the formula that stands in
}

// Group is a population. Logarithms are natural, of mm (degrees).
type Group struct {
	Name    string    `json:"name"`
	About   string    `json:"about"`
	People  int       `json:"people"`  // on whom it was fitted
	Share   float64   `json:"share"`   // of all bodies, while nothing is known of one
	Freedom float64   `json:"freedom"` // degrees of freedom of the t distribution, > 2
	Mean    []float64 `json:"mean"`    // of the logarithms
	SD      []float64 `json:"sd"`      // of the logarithms
	// Correlation of the logarithms: row i holds those with measures 0 to i-1.
	Correlation [][]float64 `json:"correlation"`

	scale []float64 // scale matrix, row by row: covariance (Freedom-2)/Freedom
}

// Parse reads a model and makes sure that it is one: the correlations must
// make a positive definite matrix, without which nothing can be conditioned.
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

// prepare works out the scale matrix of n measures.
func (g *Group) prepare(n int) error {
	if len(g.Mean) != n || len(g.SD) != n || len(g.Correlation) != n {
		return fmt.Errorf("%d means, %d spreads and %d rows of correlations for %d measures",
			len(g.Mean), len(g.SD), len(g.Correlation), n)
	}
	if !(g.Freedom > 2) || !(g.Share > 0) {
		return fmt.Errorf("share %g, freedom %g", g.Share, g.Freedom)
	}
	g.scale = make([]float64, n*n)
	shrink := (g.Freedom - 2) / g.Freedom
	for i, row := range g.Correlation {
		if len(row) != i {
			return fmt.Errorf("%d correlations in row %d", len(row), i)
		}
		g.scale[i*n+i] = g.SD[i] * g.SD[i] * shrink
		for j, c := range row {
			g.scale[i*n+j] = g.SD[i] * g.SD[j] * c * shrink
			g.scale[j*n+i] = g.scale[i*n+j]
		}
	}
	for _, v := range append(append([]float64(nil), g.scale...), g.Mean...) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("a number that is none: %g", v)
		}
	}
	if _, ok := invert(append([]float64(nil), g.scale...), n, make([]float64, n)); !ok {
		return fmt.Errorf("correlations are not positive definite")
	}
	return nil
}

// Index is where a measure stands, -1 where the model lacks it.
func (m *Model) Index(name string) int {
	for i, measure := range m.Measures {
		if measure.Name == name {
			return i
		}
	}
	return -1
}

// Only is the model with the named groups alone.
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
		return nil, errors.New("population model: no group is left")
	}
	return &only, nil
}
