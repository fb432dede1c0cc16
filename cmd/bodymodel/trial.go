package main

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
)

// form is a set of measurements to take.
type form struct {
	title string
	names []body.Name // nil for all of the survey
}

var (
	torso = []body.Name{
		body.Height, body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength,
		body.BackWidthArmpitLevel, body.NapeToWaist, body.WaistToHip, body.UpperArmGirth, body.WristGirth, body.ArmLength,
	}
	forms = []form{
		{"all measurements of the survey, with heights above the floor", nil},
		{"a full form, by tape only", append([]body.Name{
			body.NeckGirth, body.HeadGirth, body.NapeToWrist, body.ThighGirth, body.KneeGirth, body.CalfGirth,
			body.AnkleGirth, body.InsideLeg, body.OutsideLeg, body.TotalCrotchLength, body.WaistToKnee,
		}, torso...)},
		{"the measurements of the torso block and height", torso},
	}
)

// fill returns the form filled in for a person, rounded to mm as a tape is read.
func (f form) fill(person body.Measures) body.Measures {
	if f.names == nil {
		return person
	}
	m := body.Measures{}
	for _, n := range f.names {
		m[n] = math.Round(measurement(person, n))
	}
	return m
}

// measurement returns a measurement of a person of the survey, or the length
// between two heights.
func measurement(person body.Measures, n body.Name) float64 {
	switch n {
	case body.WaistToHip:
		return person[body.WaistHeight] - person[body.HipHeight]
	case body.WaistToKnee:
		return person[body.WaistHeight] - person[body.KneeHeight]
	case body.OutsideLeg, body.WaistToFloor:
		return person[body.WaistHeight]
	default:
		return person[n]
	}
}

// outcome is the outcome of the assessment of one set.
type outcome struct {
	odds      float64
	refused   bool
	named     bool      // the first finding is about what was changed
	corrected bool      // named, and the finding's correction is right
	field     body.Name // that was changed, "" if more than one
}

// trial has the outcomes of one kind of mistake with one group and form.
type trial []outcome

// share returns the share of outcomes with a property.
func (t trial) share(has func(outcome) bool) float64 {
	n := 0
	for _, o := range t {
		if has(o) {
			n++
		}
	}
	return float64(n) / float64(max(len(t), 1))
}

// asked returns the share that is asked about at minimum odds.
func (t trial) asked(odds float64) float64 {
	return t.share(func(o outcome) bool { return o.odds >= odds })
}

func (t trial) named() float64 {
	return t.share(func(o outcome) bool { return o.named && o.odds >= confirm })
}

func (t trial) corrected() float64 {
	return t.share(func(o outcome) bool { return o.corrected && o.odds >= confirm })
}

func (t trial) refused() float64 { return t.share(func(o outcome) bool { return o.refused }) }

// try assesses every set that a kind of mistake makes of the people.
func try(people []body.Measures, f form, kind mistake) trial {
	workers := runtime.GOMAXPROCS(0)
	parts := make([]trial, workers)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(people); i += workers {
				taken := f.fill(people[i])
				kind.make(taken, func(changed body.Measures, fields ...body.Name) {
					parts[w] = append(parts[w], assess(taken, changed, fields))
				})
			}
		})
	}
	wait.Wait()
	return slices.Concat(parts...)
}

func assess(taken, changed body.Measures, fields []body.Name) outcome {
	r := plausible.Default().Assess(body.Centimetre, changed)
	o := outcome{odds: r.Odds, refused: r.Level() == plausible.Refuse}
	if len(fields) == 1 {
		o.field = fields[0]
	}
	if len(r.Findings) == 0 {
		return o
	}
	first := r.Findings[0]
	o.named = isAbout(first, fields)
	o.corrected = o.named && first.Corrected != nil
	for n, mm := range first.Corrected {
		// Inches are read to quarters.
		o.corrected = o.corrected && math.Abs(mm-taken[n]) <= 4
	}
	return o
}

// isAbout reports whether a finding is about all the fields, or about the whole
// set if fields is empty.
func isAbout(f plausible.Finding, fields []body.Name) bool {
	if len(fields) == 0 {
		return f.Explanation == plausible.AllOtherUnit
	}
	for _, n := range fields {
		if f.Name != n && f.Other != n {
			return false
		}
	}
	return true
}
