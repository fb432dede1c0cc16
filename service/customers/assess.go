package customers

import (
	"context"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// Level says what the shop should do about a finding.
type Level string

const (
	Refuse  = Level(plausible.Refuse)  // nothing can be drafted from the set
	Confirm = Level(plausible.Confirm) // an order is held until a person confirms it
	Note    = Level(plausible.Note)    // have a look
)

// Assessment is the service's judgement of a set of measurements. It is stored
// with a set as JSON.
type Assessment struct {
	Findings []Finding `json:"findings"`
	Measures []Measure `json:"measures"` // given and estimated; none if the hard limits refuse the set
}

// Finding is something wrong, or likely to be wrong, with measurements.
type Finding struct {
	Level Level `json:"level"`
	service.Fault

	// Of a number that does not fit the others:
	Chance    float64            `json:"chance,omitempty"`    // from 0 to 1, that it is wrong
	Expected  *Expected          `json:"expected,omitempty"`  // nil for the set as a whole
	Corrected map[string]float64 `json:"corrected,omitempty"` // the numbers if the answer is yes, in the set's unit
}

// Expected is the estimate of a measurement by all others.
type Expected struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"` // 95 % of bodies with those others are from Low to High
	High  float64 `json:"high"`
	Unit  string  `json:"unit"`
}

// Measure is one measurement of an assessed set.
type Measure struct {
	Name      string  `json:"name"`
	Value     float64 `json:"value"`
	Unit      string  `json:"unit"` // the set's, or degree
	Estimated bool    `json:"estimated"`
	Spread    float64 `json:"spread,omitempty"` // standard deviation of an estimate
	Source    string  `json:"source,omitempty"` // of a value that was not given
}

// Acceptable reports whether nothing refuses the set.
func (a Assessment) Acceptable() bool { return len(a.Faults(Refuse)) == 0 }

// Faults returns the faults of the findings of some levels.
func (a Assessment) Faults(levels ...Level) service.Faults {
	var faults service.Faults
	for _, f := range a.Findings {
		if slices.Contains(levels, f.Level) {
			faults = append(faults, f.Fault)
		}
	}
	return faults
}

// Doubts returns, of some levels, the faults of numbers that do not fit the
// others.
func (a Assessment) Doubts(levels ...Level) service.Faults {
	return slices.DeleteFunc(a.Faults(levels...), func(f service.Fault) bool { return f.Code != fault.Implausible })
}

// Assess validates measurements against the hard limits and the needs of a
// garment, and assesses their plausibility. It assesses even a set that the
// limits refuse, because one mistake, such as inches for centimetres, explains
// many numbers out of range.
func Assess(levels Levels, m Measurements, needs Needs) Assessment {
	unit, given := body.Unit(m.Unit), m.MM()
	person, faults := body.NewIn(unit, given, needs.Requires, needs.Uses)
	a := Assessment{Findings: []Finding{}, Measures: []Measure{}}
	for _, f := range faults {
		a.Findings = append(a.Findings, Finding{Level: Refuse, Fault: f})
	}
	for _, f := range levels.assessor().Assess(unit, given).Findings {
		a.Findings = append(a.Findings, finding(f, unit))
	}
	for _, n := range person.Names() {
		a.Measures = append(a.Measures, measure(person, n, unit))
	}
	return a
}

// finding converts a finding to the unit of the set.
func finding(f plausible.Finding, unit body.Unit) Finding {
	out := Finding{
		Level: Level(f.Level), Chance: chance(f.Odds),
		Fault: service.Fault{
			Code: fault.Implausible, Field: f.Field, Accepted: f.Question, Related: f.Related,
			Explanation: string(f.Explanation),
		},
	}
	if f.Name != "" {
		u := unit.Of(f.Name)
		out.Value = u.Format(f.Given)
		out.Expected = &Expected{
			Value: u.From(f.Expected), Low: u.From(f.Low), High: u.From(f.High), Unit: string(u),
		}
	}
	if f.Corrected != nil {
		out.Corrected = unit.Values(f.Corrected)
	}
	return out
}

func measure(person body.Body, n body.Name, unit body.Unit) Measure {
	m, u := person.Get(n), unit.Of(n)
	return Measure{
		Name: string(n), Value: u.From(m.Value), Unit: string(u),
		Estimated: m.Estimated, Spread: u.From(m.Spread), Source: m.Source,
	}
}

// Assess assesses measurements at the shop's levels without storing them. If a
// garment is named, a measurement that it needs and that is missing is a
// finding; an unknown garment is an Error.
func (s *Service) Assess(
	ctx context.Context, caller service.Caller, m Measurements, g Garment,
) (Assessment, error) {
	var needs Needs
	if g.Block != "" || g.Style != "" {
		var err error
		g.Unit = m.Unit
		if needs, err = s.styles.Needs(ctx, caller, g); err != nil {
			return Assessment{}, err
		}
	}
	levels, err := ShopLevels(ctx, s.store.Queries, caller.Shop)
	if err != nil {
		return Assessment{}, err
	}
	return Assess(levels, m, needs), nil
}
