package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/body"
	"tapeline/drafting/form"
)

// A person is a body of the sections.
type person struct {
	features  []float64
	levels    []section // of form.Levels
	landmarks map[form.Landmark]float64
}

type section struct {
	radius []float64 // over the radius of a circle of the girth, by angle from the front
	middle float64   // z of the middle, over the height of the body
	girth  float64   // over the bust girth
}

type entry struct {
	Measurements map[string]float64           `json:"measurements_cm"`
	Landmarks    map[form.Landmark][3]float64 `json:"landmarks_mm"`
	Sections     []struct {
		Level  string
		Height float64
		Girth  float64
		XZ     [][2]float64
	}
}

func read(name string) ([]person, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	var all []person
	lines := bufio.NewScanner(file)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var e entry
		if err := json.Unmarshal(lines.Bytes(), &e); err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", name, len(all)+1, err)
		}
		p, err := e.person()
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", name, len(all)+1, err)
		}
		all = append(all, p)
	}
	return all, lines.Err()
}

func (e entry) person() (person, error) {
	m := body.Measures{}
	for name, cm := range e.Measurements {
		m[body.Name(name)] = 10 * cm
	}
	p := person{landmarks: map[form.Landmark]float64{}}
	height := m[body.Height]
	at := map[string]section{}
	for _, s := range e.Sections {
		if s.Level == "under_bust" {
			m[body.UnderBustGirth] = s.Girth
		}
		loop := make([]r2.Vec, len(s.XZ))
		for i, q := range s.XZ {
			loop[i] = r2.Vec{X: q[0], Y: q[1]}
		}
		radius, middle := form.Radii(loop)
		scale := form.Radius(form.Girth(loop))
		for i := range radius {
			radius[i] /= scale
		}
		at[s.Level] = section{radius, middle / height, form.Girth(loop) / m[body.BustGirth]}
	}
	for _, name := range form.Levels {
		s, ok := at[name]
		if !ok {
			return person{}, fmt.Errorf("no section %q", name)
		}
		p.levels = append(p.levels, s)
	}
	p.features = form.FeaturesOf(m)
	for _, l := range form.Placed {
		p.landmarks[l] = (e.Landmarks[l][2] - at["armpit"].middle*height) / height
	}
	return p, nil
}

// template returns the rows of the trunk of a mesh.
func template(name string) (form.Trunk, error) {
	mesh, err := os.ReadFile(name + ".obj")
	if err != nil {
		return form.Trunk{}, err
	}
	about, err := os.ReadFile(name + ".json")
	if err != nil {
		return form.Trunk{}, err
	}
	f, err := form.Read(context.Background(), bytes.NewReader(mesh), bytes.NewReader(about))
	if err != nil {
		return form.Trunk{}, err
	}
	var of struct{ Measurements map[string]float64 }
	if err := json.Unmarshal(about, &of); err != nil {
		return form.Trunk{}, err
	}
	heights := map[body.Name]float64{}
	for _, n := range []body.Name{body.HipHeight, body.WaistHeight, body.BustHeight} {
		heights[n] = 10 * of.Measurements[string(n)]
	}
	return f.Trunk(heights)
}
