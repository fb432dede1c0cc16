package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/body"
	"tapeline/drafting/wear"
)

var bodyVerbs = []declaration{
	{"Body", `pass_over(body, part head|shoulders|bust|hips|hand|foot|arm|thigh, stretch share=0) length`,
		`the girth that lets the {part} of the {body} pass[ in a cloth that stretches by {stretch}]`,
		`Returns the girth in mm that an opening must measure for a part of the body to pass: "head", "shoulders" with ` +
			`the arms raised, "bust", "hips", "hand" over the knuckles, "foot" over heel and instep, "arm" through an ` +
			`armhole, or "thigh" through a leg opening; slack included. A cloth that stretches by a share of its length ` +
			`needs less at rest. Where the girth was not measured it is estimated: 600 for the head, 1.32 wrists for the ` +
			`hand, 1.45 ankles for the foot, 0.6 hips for the thigh.`,
		passOver},
	{"Body", `stride(body, level length) length`,
		`the girth that a step of the {body} takes {level} below the waist`,
		`Returns the girth in mm that a garment needs for an ordinary step, level mm below the waist: twice the ` +
			`distance between the legs at that level plus the girth of one leg.`,
		stride},
}

// The legs in a step, as a pair of compasses with its point at the hip line. A
// step is 0.41 of the height from heel to heel (common figure for walking;
// from memory), and the height 1.58 times the waist's (handbook). A leg is 0.60 hip girths
// round at the top, 0.40 at the knee and 0.22 above the foot (ANSUR II,
// medians). For the handbook's size 12 it gives about 1000 mm round the knees
// and 1450 at the ankles, as tables of walking girths do (from memory).
const (
	step       = 0.41 * 1.58 // of the waist's height
	legAtTop   = 0.60        // of the hip girth
	legByFloor = 0.41        // of the hip girth, by which a leg is thinner at the floor
)

// measurement returns a measurement of the body in mm, and whether it is known.
func (r *record) measurement(name body.Name) (float64, bool) {
	v, ok := r.values[string(name)]
	if !ok {
		return 0, false
	}
	return starlark.AsFloat(v)
}

// measurements returns measurements of the body in mm, all of which must be known.
func (c *call) measurements(b *record, names ...body.Name) ([]float64, error) {
	var values []float64
	for _, n := range names {
		v, ok := b.measurement(n)
		if !ok {
			return nil, c.errorf("%s is unknown for this body; add it to measures in the style's head", n)
		}
		values = append(values, v)
	}
	return values, nil
}

// lookup returns a measurement of the body, as package wear asks for it.
func (r *record) lookup(n body.Name) (float64, bool) { return r.measurement(n) }

func passOver(c *call) (starlark.Value, error) {
	var b *record
	var part string
	var stretch float64
	if err := c.unpack(&b, &part, &stretch); err != nil {
		return nil, err
	}
	if err := checkStretch(stretch); err != nil {
		return nil, c.errorf("%w", err)
	}
	girth, err := wear.Part(part).Girth(b.lookup, stretch)
	if err != nil {
		return nil, c.errorf("%w", err)
	}
	return starlark.Float(girth), nil
}

func stride(c *call) (starlark.Value, error) {
	var b *record
	var level float64
	if err := c.unpack(&b, &level); err != nil {
		return nil, err
	}
	v, err := c.measurements(b, body.HipGirth, body.WaistToHip, body.WaistToFloor)
	if err != nil {
		return nil, err
	}
	hip, toHip, toFloor := v[0], v[1], v[2]
	t := min(max(0, (level-toHip)/(toFloor-toHip)), 1)
	return starlark.Float(2*step*toFloor*t + hip*(legAtTop-legByFloor*t)), nil
}
