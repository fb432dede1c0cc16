// Command formmodel learns how sections of the trunk are shaped from bodies with
// a surface, and writes the data file of package form.
//
//	go run ./cmd/formmodel -forms ../shared/data/forms
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"gonum.org/v1/gonum/mat"

	"tapeline/drafting/form"
)

func main() {
	folder := flag.String("forms", "../shared/data/forms", "directory of the bodies with a surface")
	out := flag.String("out", "drafting/form/shapes.json", "file to write")
	flag.Parse()
	if err := write(*folder, *out); err != nil {
		fmt.Fprintf(os.Stderr, "formmodel: %v\n", err)
		os.Exit(1)
	}
}

func write(folder, out string) error {
	var shapes form.Shapes
	var err error
	if shapes.Trunk, err = template(filepath.Join(folder, "w-average")); err != nil {
		return err
	}
	for _, g := range []struct {
		file string
		to   *form.Model
	}{{"sections-women.jsonl", &shapes.Women}, {"sections-men.jsonl", &shapes.Men}} {
		bodies, err := read(filepath.Join(folder, g.file))
		if err != nil {
			return err
		}
		*g.to = learn(bodies)
	}
	data, err := json.Marshal(shapes)
	if err != nil {
		return err
	}
	return os.WriteFile(out, append(data, '\n'), 0o644)
}

// ridge is the weight of the penalty on coefficients of standardized features.
const ridge = 4

// learn regresses the shape of each level, and where its middle and the
// landmarks stand, on the features of the bodies.
func learn(bodies []person) form.Model {
	var model form.Model
	n, k := len(bodies), len(form.Features)
	x := mat.NewDense(n, k, nil)
	for j := range k {
		sum, squares := 0.0, 0.0
		for _, b := range bodies {
			v := b.features[j]
			sum, squares = sum+v, squares+v*v
		}
		mean := sum / float64(n)
		sd := math.Sqrt(max(1e-12, squares/float64(n)-mean*mean))
		model.Mean, model.SD = append(model.Mean, round(mean)), append(model.SD, round(sd))
		for i, b := range bodies {
			x.Set(i, j, (b.features[j]-mean)/sd)
		}
	}
	fit := func(value func(person) float64) form.Linear {
		mean := 0.0
		for _, b := range bodies {
			mean += value(b) / float64(n)
		}
		y := mat.NewVecDense(n, nil)
		for i, b := range bodies {
			y.SetVec(i, value(b)-mean)
		}
		var a mat.Dense
		a.Mul(x.T(), x)
		for j := range k {
			a.Set(j, j, a.At(j, j)+ridge)
		}
		var right, c mat.VecDense
		right.MulVec(x.T(), y)
		if err := c.SolveVec(&a, &right); err != nil {
			panic(err) // a ridge makes the matrix regular
		}
		l := form.Linear{Mean: round(mean)}
		for j := range k {
			l.By = append(l.By, round(c.AtVec(j)))
		}
		return l
	}
	for i, name := range form.Levels {
		level := form.Level{Name: name, Middle: fit(func(b person) float64 { return b.levels[i].middle }),
			Girth: fit(func(b person) float64 { return b.levels[i].girth })}
		for a := range form.Angles {
			level.Radius = append(level.Radius, fit(func(b person) float64 { return b.levels[i].radius[a] }))
		}
		model.Levels = append(model.Levels, level)
	}
	for _, l := range form.Placed {
		model.Landmarks = append(model.Landmarks, fit(func(b person) float64 { return b.landmarks[l] }))
	}
	return model
}

func round(v float64) float64 { return math.Round(v*1e5) / 1e5 }
