package main

import (
	"fmt"

	"tapeline/drafting/body"
)

// A standin gives a measure that the survey lacks. Its value for each person
// comes from what was measured on them, and to its logarithm is added a spread
// of its own, for what the formula doesn't know.
type standin struct {
	name     body.Name
	sd       float64 // of the logarithm, about the share of the value
	surveyed bool    // the plain difference of measures that were taken
	from     string  // "" for the rule of package body
	value    func(m body.Measures, woman bool) float64
}

// standins in an order in which each finds what it needs. Those without a
// formula take the rule of package body, which names its own source. Spreads
// are our judgement unless a source is named.
var standins = []standin{
	// Differences of heights, and the tape that follows the body's curve.
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
		from: "women: bust_girth - 157 (ASTM D5585-11e1: 156 to 162 in its sizes 4 to 20); men: 0.96 bust_girth (practice)",
		value: func(m body.Measures, woman bool) float64 {
			if woman {
				return m[body.BustGirth] - 157
			}
			return 0.96 * m[body.BustGirth]
		}},
	{name: body.ChestWidth, sd: 0.05},
	{name: body.BustPointWidth, sd: 0.07},
	{name: body.FrontWaistLength, sd: 0.03}, // heights give a surplus with sd 12.6 mm
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

// complete adds to a person's measures those that stand in, and says where
// each comes from.
func complete(person body.Measures, woman bool) (body.Measures, map[body.Name]string, error) {
	b, faults := body.New(person, nil)
	if err := faults.Err(); err != nil {
		return nil, nil, err
	}
	whole, from := body.Measures{}, map[body.Name]string{}
	for n, v := range person {
		whole[n] = v
	}
	for _, s := range standins {
		if s.value != nil {
			whole[s.name], from[s.name] = s.value(person, woman), s.from
			continue
		}
		m := b.Get(s.name)
		if m.Value <= 0 || m.Source == "" {
			return nil, nil, fmt.Errorf("no rule gives %s", s.name)
		}
		whole[s.name], from[s.name] = m.Value, m.Source
	}
	return whole, from, nil
}
