package style

import (
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/body"
)

// What an opening or a hem must let pass.
var bodyVerbs = []Verb{
	{"Body", `head_to_pass(body)`,
		`The girth that the neck of a garment pulled over must pass, mm: the head's where it was measured, else 600, which passes 19 of 20 heads of the survey, women's and men's.`,
		headToPass},
	{"Body", `hand_to_pass(body)`,
		`The girth that a closed cuff or sleeve end must pass, mm: the hand's where it was measured, else 1.32 times the wrist.`,
		handToPass},
	{"Body", `stride(body, level)`,
		`How far round a garment must be, so many mm below the waist, for an ordinary step, mm: twice as far as the legs are apart there, and a leg's girth.`,
		strideOf},
}

// Stand-ins where a girth was not measured.
const (
	usualHead = 600.0 // 95 of 100 women (598 mm) and men (600 mm) of ANSUR II have less
	usualHand = 1.32  // wrists: the knuckles 1.2, and the thumb laid in (from memory)
)

// The legs in a step, as a pair of compasses whose point is at the hip line. A
// step is 0.41 of the height from heel to heel (common figure for walking;
// from memory), and the height 1.58 times the waist's (handbook). A leg is 0.60 hip girths
// round at the top, 0.40 at the knee and 0.22 above the foot (ANSUR II,
// medians). For the handbook's size 12 it gives about 1000 mm round the knees
// and 1450 at the ankles, as tables of walking girths do (from memory).
const (
	step       = 0.41 * 1.58 // of the waist's height
	legAtTop   = 0.60        // of the hip girth
	legByFloor = 0.41        // less, at the floor
)

func known(b *record, name body.Name) (float64, bool) {
	v, ok := b.values[string(name)]
	if !ok {
		return 0, false
	}
	return starlark.AsFloat(v)
}

func needed(verb string, b *record, names ...body.Name) ([]float64, error) {
	var values []float64
	for _, n := range names {
		v, ok := known(b, n)
		if !ok {
			return nil, fmt.Errorf("%s: %s is not known of this body; name it in the head's measures", verb, n)
		}
		values = append(values, v)
	}
	return values, nil
}

func headToPass(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var b *record
	if err := starlark.UnpackArgs("head_to_pass", args, kwargs, "body", &b); err != nil {
		return nil, err
	}
	if v, ok := known(b, body.HeadGirth); ok {
		return starlark.Float(v), nil
	}
	return starlark.Float(usualHead), nil
}

func handToPass(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var b *record
	if err := starlark.UnpackArgs("hand_to_pass", args, kwargs, "body", &b); err != nil {
		return nil, err
	}
	if v, ok := known(b, body.HandGirth); ok {
		return starlark.Float(v), nil
	}
	v, err := needed("hand_to_pass", b, body.WristGirth)
	if err != nil {
		return nil, err
	}
	return starlark.Float(usualHand * v[0]), nil
}

func strideOf(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var b *record
	var level mm
	if err := starlark.UnpackArgs("stride", args, kwargs, "body", &b, "level", &level); err != nil {
		return nil, err
	}
	v, err := needed("stride", b, body.HipGirth, body.WaistToHip, body.WaistToFloor)
	if err != nil {
		return nil, err
	}
	hip, toHip, toFloor := v[0], v[1], v[2]
	t := min(max(0, (float64(level)-toHip)/(toFloor-toHip)), 1)
	return starlark.Float(2*step*toFloor*t + hip*(legAtTop-legByFloor*t)), nil
}
