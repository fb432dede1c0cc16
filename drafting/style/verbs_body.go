package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/body"
)

var bodyVerbs = []Verb{
	{"Body", `head_to_pass(body)`,
		`Returns the girth in mm that the neck of a pullover garment must pass: the head girth if it was measured, ` +
			`otherwise 600, which passes 19 of 20 heads of the survey, women's and men's.`,
		headToPass},
	{"Body", `hand_to_pass(body)`,
		`Returns the girth in mm that a closed cuff or sleeve end must pass: the hand girth if it was measured, ` +
			`otherwise 1.32 times the wrist girth.`,
		handToPass},
	{"Body", `stride(body, level)`,
		`Returns the girth in mm that a garment needs for an ordinary step, level mm below the waist: twice the ` +
			`distance between the legs at that level plus the girth of one leg.`,
		stride},
}

// Substitutes for a girth that was not measured.
const (
	usualHead = 600.0 // 95 of 100 women (598 mm) and men (600 mm) of ANSUR II have less
	usualHand = 1.32  // wrists: the knuckles 1.2, plus the thumb folded in (from memory)
)

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

func headToPass(c *call) (starlark.Value, error) {
	var b *record
	if err := c.unpack("body", &b); err != nil {
		return nil, err
	}
	if v, ok := b.measurement(body.HeadGirth); ok {
		return starlark.Float(v), nil
	}
	return starlark.Float(usualHead), nil
}

func handToPass(c *call) (starlark.Value, error) {
	var b *record
	if err := c.unpack("body", &b); err != nil {
		return nil, err
	}
	if v, ok := b.measurement(body.HandGirth); ok {
		return starlark.Float(v), nil
	}
	v, err := c.measurements(b, body.WristGirth)
	if err != nil {
		return nil, err
	}
	return starlark.Float(usualHand * v[0]), nil
}

func stride(c *call) (starlark.Value, error) {
	var b *record
	var level float64
	if err := c.unpack("body", &b, "level", &level); err != nil {
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
