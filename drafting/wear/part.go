// Package wear knows what a body needs of a garment to get into it and to move
// in it: the girth that an opening must pass, and the room around an arm or a
// leg. Read reads both from the finished pieces, not from the figures that
// built them.
package wear

import (
	"fmt"
	"slices"

	"tapeline/drafting/body"
)

// A Part is a part of the body that passes an opening when a garment is put on.
type Part string

// The parts that pass an opening.
const (
	Head      Part = "head"
	Shoulders Part = "shoulders" // with the arms raised, as a garment is pulled over them
	Bust      Part = "bust"
	Hips      Part = "hips"  // and the high hip, if that is wider
	Seat      Part = "seat"  // the hip girth alone
	Hand      Part = "hand"  // over the knuckles, the thumb laid in
	Foot      Part = "foot"  // over heel and instep
	Arm       Part = "arm"   // through an armhole without a sleeve
	Thigh     Part = "thigh" // through a leg opening
)

// Parts returns all parts.
func Parts() []Part { return []Part{Head, Shoulders, Bust, Hips, Seat, Hand, Foot, Arm, Thigh} }

// A Lookup returns a measurement in mm, and false if it is unknown.
type Lookup func(body.Name) (float64, bool)

// Substitutes for girths that were not measured.
const (
	usualHead  = 600.0 // 95 of 100 women (598 mm) and men (600 mm) of ANSUR II have less
	handWrists = 1.32  // the knuckles 1.2, and the thumb laid in (from memory)
	footAnkles = 1.45  // ANSUR II, from memory: heel and ankle against ankle
)

// Slack is the length that a person needs beyond the girth to get through without forcing
// the cloth, mm (common practice). A pullover garment passes the shoulders with
// the arms raised inside it: they take about the girth of the bust and 60 mm.
// The hand's girth has the thumb laid in and needs none.
const (
	headSlack     = 10.0
	shoulderSlack = 60.0
	bustSlack     = 20.0
	hipSlack      = 20.0
	footSlack     = 10.0
)

// A MissingError names a measurement that must be known.
type MissingError struct {
	Part  Part
	Needs body.Name
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s is unknown for this body, and the girth of the %s follows from it; add it to measures in the "+
		"style's head", e.Needs, e.Part)
}

// Girth returns the girth in mm that an opening at rest must measure for the
// part to pass: with its slack, or, of a cloth that stretches by a share of its
// length, stretched to the bare girth.
func (p Part) Girth(of Lookup, stretch float64) (float64, error) {
	girth, slack, err := p.bare(of)
	if stretch > 0 {
		return girth / (1 + stretch), err
	}
	return girth + slack, err
}

// bare returns the girth of the part and the slack that goes with it, mm.
func (p Part) bare(of Lookup) (girth, slack float64, err error) {
	switch p {
	case Head:
		return known(of, body.HeadGirth, usualHead), headSlack, nil
	case Shoulders:
		girth, err = p.measure(of, body.BustGirth)
		return girth, shoulderSlack, err
	case Bust:
		girth, err = p.measure(of, body.BustGirth)
		return girth, bustSlack, err
	case Seat:
		girth, err = p.measure(of, body.HipGirth)
		return girth, hipSlack, err
	case Hips:
		girth, err = p.measure(of, body.HipGirth)
		return max(girth, known(of, body.HighHipGirth, 0)), hipSlack, err
	case Hand:
		if v, ok := of(body.HandGirth); ok {
			return v, 0, nil
		}
		girth, err = p.measure(of, body.WristGirth)
		return handWrists * girth, 0, err
	case Foot:
		if v, ok := of(body.FootGirth); ok {
			return v, footSlack, nil
		}
		girth, err = p.measure(of, body.AnkleGirth)
		return footAnkles * girth, footSlack, err
	case Arm:
		girth, err = p.measure(of, body.UpperArmGirth)
		return girth, leastArmEase, err
	case Thigh:
		if v, ok := of(body.ThighGirth); ok {
			return v, leastLegEase, nil
		}
		girth, err = p.measure(of, body.HipGirth)
		return thighOfHip * girth, leastLegEase, err
	}
	return 0, 0, fmt.Errorf("unknown part %q; want one of %v", p, Parts())
}

// measure returns a measurement that must be known.
func (p Part) measure(of Lookup, n body.Name) (float64, error) {
	v, ok := of(n)
	if !ok {
		return 0, &MissingError{p, n}
	}
	return v, nil
}

// Valid reports whether p is one of Parts.
func (p Part) Valid() bool { return slices.Contains(Parts(), p) }
