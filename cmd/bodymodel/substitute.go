package main

import (
	"fmt"
	"maps"

	"tapeline/drafting/body"
)

// substitute derives a measure that the survey lacks from those taken on a
// person.
type substitute struct {
	name     body.Name
	sd       float64 // standard deviation of the logarithm from the formula's value
	surveyed bool    // plain difference of measures that were taken
	from     string  // formula and source
	value    func(m body.Measures, woman bool) float64
}

// substitutes lists the substitutes. Those without a formula use the rule of
// package body, which names its source. The standard deviations are our judgement
// unless a source is named.
var substitutes = []substitute{
	// Differences of heights. A tape follows the curve of the body, hence the spread.
	{name: body.WaistToHip, sd: 0.04, surveyed: true},
	{name: body.WaistToKnee, sd: 0.01, surveyed: true},
	{name: body.WaistToFloor, sd: 0.01, surveyed: true},
	{name: body.WaistToThigh, sd: 0.03},
	{name: body.OutsideLeg, sd: 0.012, surveyed: true, from: "waist_height",
		value: func(m body.Measures, _ bool) float64 { return m[body.WaistHeight] }},
	{name: body.ScyeDepth, sd: 0.06},
	{name: body.ShoulderSlope, sd: 0.12},

	{name: body.BackWidth, sd: 0.035},
	{name: body.UnderBustGirth, sd: 0.05,
		from: "women: bust_girth - 157 (ASTM D5585-11e1: 156 to 162 in its sizes 4 to 20); " +
			"men: 0.96 bust_girth (practice)",
		value: func(m body.Measures, woman bool) float64 {
			if woman {
				return m[body.BustGirth] - 157
			}
			return 0.96 * m[body.BustGirth]
		}},
	{name: body.OverBustGirth, sd: 0.03,
		from: "women: bust_girth - 50 (practice: 25 mm a cup, two for the standard one); men: 1.01 bust_girth (practice)",
		value: func(m body.Measures, woman bool) float64 {
			if woman {
				return m[body.BustGirth] - 50
			}
			return 1.01 * m[body.BustGirth]
		}},
	{name: body.ChestWidth, sd: 0.05},
	{name: body.BustPointWidth, sd: 0.07},
	{name: body.FrontWaistLength, sd: 0.03}, // computed from heights, the surplus has an sd of 12.6 mm
	{name: body.SideNeckToBust, sd: 0.05},
	{name: body.HighHipGirth, sd: 0.03},
	{name: body.ElbowGirth, sd: 0.05},
	{name: body.ShoulderToElbow, sd: 0.03},

	{name: body.HandGirth, sd: 0.08, from: "1.32 wrist_girth (from memory: knuckles 1.2 wrists, and the thumb)",
		value: func(m body.Measures, _ bool) float64 { return 1.32 * m[body.WristGirth] }},
	{name: body.FootGirth, sd: 0.06, from: "0.19 height (from memory: heel and instep 307 mm at 1628, 340 at 1756)",
		value: func(m body.Measures, _ bool) float64 { return 0.19 * m[body.Height] }},
	{name: body.BodyRise, sd: 0.08, from: "waist_height - inside_leg + 22 (handbook: 280 at a waist to floor of 1040)",
		value: func(m body.Measures, _ bool) float64 { return m[body.WaistHeight] - m[body.InsideLeg] + 22 }},
}

// complete adds the substitutes to a person's measures. It also returns the
// formula of each.
func complete(person body.Measures, woman bool) (body.Measures, map[body.Name]string, error) {
	b, faults := body.New(person, nil)
	if err := faults.Err(); err != nil {
		return nil, nil, err
	}
	whole, from := maps.Clone(person), map[body.Name]string{}
	for _, s := range substitutes {
		if s.value != nil {
			whole[s.name], from[s.name] = s.value(person, woman), s.from
			continue
		}
		m := b.Get(s.name)
		if m.Value <= 0 || m.Source == "" {
			return nil, nil, fmt.Errorf("no rule for %s", s.name)
		}
		whole[s.name], from[s.name] = m.Value, m.Source
	}
	return whole, from, nil
}
