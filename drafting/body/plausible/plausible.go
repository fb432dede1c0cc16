// Package plausible assesses a set of measurements against a model of bodies and
// asks about numbers that do not fit the others: inches among centimetres, two
// numbers exchanged, swapped digits, a tape at the wrong level. It judges
// numbers, never people: the model is fitted to fit adults of working age, and
// the further a body is from them the more the package tolerates.
//
// A Finding rests on odds by Bayes' theorem. For every simple mistake, the
// package multiplies how often people make it by how likely the set is with the
// mistake undone, and divides by how likely the set is as it stands. An unlikely
// set alone is no reason to refuse it; only numbers outside the hard limits of
// package body are refused.
package plausible

import (
	"fmt"
	"math"
	"sync"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// Level says what the shop should do about a finding.
type Level string

const (
	Refuse  Level = "refuse"  // do not draft
	Confirm Level = "confirm" // ask the customer before drafting
	Note    Level = "note"    // have a look; drafting may go on
)

// Levels has the minimum odds, to one, that a number is wrong for a finding of
// each level. Infinity turns a level off.
type Levels struct {
	Note    float64
	Confirm float64
	Refuse  float64
}

// DefaultLevels ask the customer if one such number in seven is wrong, because a
// question costs less than a garment. They ask about fewer than one real body
// in a hundred (see the evaluation of command bodymodel) and refuse none.
var DefaultLevels = Levels{Note: 0.05, Confirm: 1.0 / 6, Refuse: math.Inf(1)}

// Explanation is a kind of mistake.
type Explanation string

const (
	Slip          Explanation = "slip"              // any other mistake: measure again
	OtherUnit     Explanation = "other_unit"        // the number is in inches, or in centimetres
	AllOtherUnit  Explanation = "all_in_other_unit" // every number is
	Exchanged     Explanation = "exchanged"         // two numbers in place of each other
	DigitsSwapped Explanation = "digits_swapped"    // two neighbouring digits
	LeadingDigit  Explanation = "leading_digit"     // wrong or lost
	TenOff        Explanation = "ten_off"           // ten units more or less
	Doubled       Explanation = "doubled"           // a girth counted twice
	Halved        Explanation = "halved"            // only half of a girth measured
	DecimalPoint  Explanation = "decimal_point"     // one place to the left or right
	Unusual       Explanation = "unusual_set"       // several numbers fit each other less than usual
)

// setField is the JSON pointer of all measurements.
const setField = "/measurements"

// Finding is a number, or a set of them, to ask about. Lengths are in mm, the
// shoulder slope in degrees.
type Finding struct {
	Level       Level
	Field       string        // RFC 6901 JSON pointer of the measurement, or /measurements for the set
	Related     []string      // pointers of the other fields that the explanation involves
	Name        body.Name     // of the measurement, "" for the set
	Other       body.Name     // with which Name was exchanged
	Given       float64       // the number in question
	Expected    float64       // by all other measurements, their mistakes undone; 0 for the set
	Low, High   float64       // 95 % of bodies with those other measurements are in this range
	Explanation Explanation   // the most likely mistake
	Odds        float64       // to one that the number is wrong
	Question    string        // to the customer, in the order's unit
	Corrected   body.Measures // the numbers if the answer is yes, nil if they must be measured again
}

// Assessment is the result of assessing a set.
type Assessment struct {
	Findings []Finding // most likely to be wrong first
	Distance float64   // of the set as given from its group: see population.View.Distance
	Group    string    // of people that the set resembles most
	Odds     float64   // to one that the worst number is wrong, even if below every level
}

// Level returns the highest level of the findings, "" if there are none.
func (a Assessment) Level() Level {
	for _, l := range []Level{Refuse, Confirm, Note} {
		for _, f := range a.Findings {
			if f.Level == l {
				return l
			}
		}
	}
	return ""
}

// Assessor assesses sets of measurements. It is immutable and safe for
// concurrent use.
type Assessor struct {
	model    *population.Model
	levels   Levels
	measures []measure // in the model's order
}

type measure struct {
	info  body.Info
	girth bool
}

// With returns an assessor with other levels. Levels must be above 0 and
// ascending.
func (a *Assessor) With(levels Levels) (*Assessor, error) {
	if !(levels.Note > 0 && levels.Note <= levels.Confirm && levels.Confirm <= levels.Refuse) {
		return nil, fmt.Errorf("levels note %g, confirm %g, refuse %g: must be above 0 and ascending",
			levels.Note, levels.Confirm, levels.Refuse)
	}
	other := *a
	other.levels = levels
	return &other, nil
}

// New returns an assessor that uses a model. Package body must know every
// measure of the model.
func New(model *population.Model, levels Levels) (*Assessor, error) {
	a := &Assessor{model: model}
	for _, m := range model.Measures {
		info, ok := body.Lookup(body.Name(m.Name))
		if !ok {
			return nil, fmt.Errorf("unknown measurement %q in the model", m.Name)
		}
		a.measures = append(a.measures, measure{info: info, girth: isGirth(info.Name)})
	}
	return a.With(levels)
}

// Default returns the assessor with the embedded model of bodies and
// DefaultLevels.
var Default = sync.OnceValue(func() *Assessor {
	a, err := New(population.People(), DefaultLevels)
	if err != nil {
		panic(err) // tests use the same model and levels
	}
	return a
})
