// Package plausible holds a set of measurements against what is known of
// bodies and asks about numbers that don't go with the rest: inches among
// centimetres, two numbers exchanged, swapped digits, a tape at the wrong
// level. It judges numbers, never people: what it knows are fit adults of
// working age, and the further a body lies from them the more it allows.
//
// A finding rests on odds. Every simple mistake that could have made the set
// is weighed against no mistake at all: how likely the set would be on a body
// with the mistake undone, times how often such mistakes are made, over how
// likely it is as it stands (Bayes' theorem). A set is never refused for being
// unlikely; only numbers outside the hard limits of package body are.
package plausible

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// Level is what a finding asks of the shop.
type Level string

const (
	Refuse  Level = "refuse"  // not to be drafted from
	Confirm Level = "confirm" // ask the customer before drafting
	Note    Level = "note"    // worth a look, holds nothing up
)

// Levels are the odds, so many to one that a number is wrong, from which on a
// finding is of each level. Infinity turns a level off.
type Levels struct {
	Note    float64
	Confirm float64
	Refuse  float64
}

// DefaultLevels ask a customer where a number is wrong once in seven times: a
// question costs less than a garment. That asks about fewer than one real body
// in a hundred (see the evaluation of command fit) and refuses none.
var DefaultLevels = Levels{Note: 0.05, Confirm: 1.0 / 6, Refuse: math.Inf(1)}

// Explanation is the mistake that would explain a finding best.
type Explanation string

const (
	Slip          Explanation = "slip"              // some other number: measure again
	OtherUnit     Explanation = "other_unit"        // this number in inches, or in centimetres
	AllOtherUnit  Explanation = "all_in_other_unit" // every number
	Exchanged     Explanation = "exchanged"         // two numbers in each other's place
	DigitsSwapped Explanation = "digits_swapped"    // two neighbouring digits
	LeadingDigit  Explanation = "leading_digit"     // wrong, or lost
	TenOff        Explanation = "ten_off"           // read or written by ten of the unit off
	Doubled       Explanation = "doubled"           // a girth written twice over
	Halved        Explanation = "halved"            // a girth taken half-way round
	DecimalPoint  Explanation = "decimal_point"     // one place off
	Unusual       Explanation = "unusual_set"       // no one number: several go together less well than usual
)

// setField points to all measurements.
const setField = "/measurements"

// Finding is one number, or one set, to ask about. Lengths are mm (degrees for
// the shoulder slope).
type Finding struct {
	Level       Level
	Field       string        // RFC 6901 JSON pointer: a measurement, or /measurements for the set
	Related     []string      // pointers to the other fields of the explanation
	Name        body.Name     // of the measurement, "" for the set
	Other       body.Name     // of an exchange, the one that it was exchanged with
	Given       float64       // as it was given
	Expected    float64       // by all other measurements with mistakes undone; 0 for the set
	Low, High   float64       // 19 bodies of 20 with those others lie between
	Explanation Explanation   // the likeliest
	Odds        float64       // that the number is wrong, to one
	Question    string        // to the customer, in the order's unit
	Corrected   body.Measures // what a yes to the question makes of the numbers, nil where to measure again
}

// Report is what the check has to say of a set.
type Report struct {
	Findings []Finding // the least likely numbers first
	// Distance tells how far from the middle of its group the set lies as it
	// was given: squared, by Mahalanobis, over the number of measurements. 1 is
	// an ordinary body.
	Distance float64
	Group    string  // of people, that the set resembles most
	Odds     float64 // that the worst number is wrong, to one, a finding or not
}

// Level is the highest level of all findings, "" where there is none.
func (r Report) Level() Level {
	for _, l := range []Level{Refuse, Confirm, Note} {
		for _, f := range r.Findings {
			if f.Level == l {
				return l
			}
		}
	}
	return ""
}

// Checker holds sets of measurements against a model. It does not change and
// may be used by many at once.
type Checker struct {
	model    *population.Model
	levels   Levels
	measures []measure // of the model, with what package body knows of each
}

type measure struct {
	info  body.Info
	girth bool
}

// At is the checker with other levels. An error says which is no odds or in
// the wrong order.
func (c *Checker) At(levels Levels) (*Checker, error) {
	if !(levels.Note > 0 && levels.Note <= levels.Confirm && levels.Confirm <= levels.Refuse) {
		return nil, fmt.Errorf("levels: note %g, confirm %g and refuse %g must be odds above 0, each at least the one before", levels.Note, levels.Confirm, levels.Refuse)
	}
	other := *c
	other.levels = levels
	return &other, nil
}

// New makes a checker. An error says what is wrong with the levels, or which
// measure of the model isn't one.
func New(model *population.Model, levels Levels) (*Checker, error) {
	c := &Checker{model: model}
	for _, m := range model.Measures {
		info, ok := body.Lookup(body.Name(m.Name))
		if !ok {
			return nil, fmt.Errorf("the model's measure %q is no measurement", m.Name)
		}
		c.measures = append(c.measures, measure{info: info, girth: isGirth(info.Name)})
	}
	return c.At(levels)
}
