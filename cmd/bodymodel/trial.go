package main

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
)

// A form is which measurements are taken.
type form struct {
	title string
	names []body.Name // nil: all that the survey has
}

var (
	torso = []body.Name{
		body.Height, body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength,
		body.BackWidthArmpitLevel, body.NapeToWaist, body.WaistToHip, body.UpperArmGirth, body.WristGirth, body.ArmLength,
	}
	forms = []form{
		{"all that the survey measured, heights above the floor too", nil},
		{"a full form, tape alone", append([]body.Name{
			body.NeckGirth, body.HeadGirth, body.NapeToWrist, body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth,
			body.InsideLeg, body.OutsideLeg, body.TotalCrotchLength, body.WaistToKnee,
		}, torso...)},
		{"what the torso block needs, and height", torso},
	}
)

// take is what a person's form has on it, to the millimetre that a tape gives.
func (f form) take(person body.Measures) body.Measures {
	if f.names == nil {
		return person
	}
	m := body.Measures{}
	for _, n := range f.names {
		m[n] = math.Round(measured(person, n))
	}
	return m
}

// measured is a measurement of a person of the survey, lengths between heights
// too.
func measured(person body.Measures, n body.Name) float64 {
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

// outcome is how the check took one set.
type outcome struct {
	odds    float64
	refused bool
	named   bool      // the first finding is about what was changed
	right   bool      // and its answer gives the numbers that were taken
	field   body.Name // that was changed, "" for more than one
}

// trial is the outcomes of one kind of mistake with one group and form.
type trial []outcome

// share of the sets of which something holds.
func (t trial) share(of func(outcome) bool) float64 {
	n := 0
	for _, o := range t {
		if of(o) {
			n++
		}
	}
	return float64(n) / float64(max(len(t), 1))
}

// asked is the share that is asked about where that is done from odds on.
func (t trial) asked(odds float64) float64 {
	return t.share(func(o outcome) bool { return o.odds >= odds })
}

func (t trial) named() float64 {
	return t.share(func(o outcome) bool { return o.named && o.odds >= confirm })
}

func (t trial) right() float64 {
	return t.share(func(o outcome) bool { return o.right && o.odds >= confirm })
}

func (t trial) refused() float64 { return t.share(func(o outcome) bool { return o.refused }) }

// try checks every set that a kind of mistake makes of everybody.
func try(c *plausible.Checker, people []body.Measures, f form, kind mistake) trial {
	workers := runtime.GOMAXPROCS(0)
	parts := make([]trial, workers)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(people); i += workers {
				taken := f.take(people[i])
				kind.make(taken, func(changed body.Measures, fields ...body.Name) {
					parts[w] = append(parts[w], judge(c, taken, changed, fields))
				})
			}
		})
	}
	wait.Wait()
	return slices.Concat(parts...)
}

func judge(c *plausible.Checker, taken, changed body.Measures, fields []body.Name) outcome {
	r := c.Check(body.Centimetre, changed)
	o := outcome{odds: r.Odds, refused: r.Level() == plausible.Refuse}
	if len(fields) == 1 {
		o.field = fields[0]
	}
	if len(r.Findings) == 0 {
		return o
	}
	first := r.Findings[0]
	o.named = names(first, fields)
	o.right = o.named && first.Corrected != nil
	for n, mm := range first.Corrected {
		// A quarter of an inch is as near as inches come.
		o.right = o.right && math.Abs(mm-taken[n]) <= 4
	}
	return o
}

// names tells whether a finding is about the fields, all of them; about the
// whole set where none is named.
func names(f plausible.Finding, fields []body.Name) bool {
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
