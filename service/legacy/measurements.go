package legacy

import (
	"bytes"
	"context"
	"encoding/json"
	"regexp"
	"slices"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// Report is what checking a set of measurements said.
type Report struct {
	Findings []Finding     `json:"findings"`
	Measures []CheckedSize `json:"measures"` // given and estimated; empty when refused
}

// Acceptable tells whether nothing refuses the set.
func (r Report) Acceptable() bool { return len(r.at(LevelRefuse)) == 0 }

// at are the faults of a level.
func (r Report) at(level string) fault.List {
	var faults fault.List
	for _, f := range r.Findings {
		if f.Level == level {
			faults = append(faults, f.Fault)
		}
	}
	return faults
}

// Finding is something wrong with the measurements.
type Finding struct {
	Level string `json:"level"` // LevelRefuse, LevelConfirm or LevelNote
	fault.Fault

	// Of a number that does not go with the others:
	Chance    float64            `json:"chance,omitempty"`    // that it is wrong, from 0 to 1
	Expected  *Expected          `json:"expected,omitempty"`  // nil for the set as a whole
	Corrected map[string]float64 `json:"corrected,omitempty"` // what a yes to the question makes of the set, in its unit
}

// Expected is what a measurement should be by all the others.
type Expected struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"` // 19 bodies of 20 with those others lie between
	High  float64 `json:"high"`
	Unit  string  `json:"unit"`
}

const (
	LevelRefuse  = string(plausible.Refuse)  // nothing can be drafted from it
	LevelConfirm = string(plausible.Confirm) // an order is held until somebody confirms it
	LevelNote    = string(plausible.Note)    // worth a look
)

// CheckedSize is one measurement of a checked set.
type CheckedSize struct {
	Name      string  `json:"name"`
	Value     float64 `json:"value"`
	Unit      string  `json:"unit"` // that of the set; degree for angles
	Estimated bool    `json:"estimated"`
	Spread    float64 `json:"spread,omitempty"` // of an estimate: two of three are off by no more
	Source    string  `json:"source,omitempty"` // of what was not given
}

// CheckMeasurements checks without storing; with a spec that names a block, or
// any revision of a style, also that nothing is missing that it needs. One that
// is not known is an Error.
func (s *Service) CheckMeasurements(ctx context.Context, caller Caller, m Measured, ordered Spec) (Report, error) {
	var spec block.Spec
	var err error
	switch {
	case ordered.Block != "":
		spec, err = findBlock(ordered.Block)
	case ordered.Style != "":
		var garment *style.Style
		if _, garment, err = s.find(ctx, s.store.Queries, caller, ordered, anyRevision); err == nil {
			spec = garment.Spec()
		}
	}
	if err != nil {
		return Report{}, err
	}
	c, err := checkerOf(ctx, s.store.Queries, caller.Shop)
	if err != nil {
		return Report{}, err
	}
	return check(c, m, spec.Requires, spec.Uses), nil
}

// measures are the measurements in mm, angles in degrees.
func (m Measured) measures() body.Measures {
	unit := body.Unit(m.Unit)
	given := make(body.Measures, len(m.Values))
	for name, v := range m.Values {
		if info, ok := body.Lookup(body.Name(name)); !ok || info.Unit != body.Degree {
			v = unit.MM(v)
		}
		given[body.Name(name)] = v
	}
	return given
}

// check holds a set against the limits, and against what is known of bodies:
// also a set that the limits refuse, since all numbers in inches explains many
// that are out of range.
func check(c *plausible.Assessor, m Measured, requires, uses []body.Name) Report {
	unit := body.Unit(m.Unit)
	given := m.measures()
	person, faults := body.NewIn(unit, given, requires, uses)
	r := Report{Findings: []Finding{}, Measures: []CheckedSize{}}
	for _, f := range faults {
		r.Findings = append(r.Findings, Finding{Level: LevelRefuse, Fault: f})
	}
	r.Findings = append(r.Findings, askAbout(c, unit, given)...)
	for _, n := range person.Names() {
		r.Measures = append(r.Measures, checkedSize(person, n, unit))
	}
	return r
}

func checkedSize(person body.Body, n body.Name, unit body.Unit) CheckedSize {
	measure := person.Get(n)
	in := unitOf(n, unit)
	return CheckedSize{Name: string(n), Value: in.From(measure.Value), Unit: string(in),
		Estimated: measure.Estimated, Spread: in.From(measure.Spread), Source: measure.Source}
}

// faults are those that refuse the set.
func (r Report) faults() fault.List { return r.at(LevelRefuse) }

// MeasurementInfo is a measurement that is known, with the blocks that cannot
// do without it.
type MeasurementInfo struct {
	body.Info
	RequiredBy []string
}

// Measurements lists all that are known.
func (s *Service) Measurements() []MeasurementInfo {
	var list []MeasurementInfo
	for _, info := range body.All() {
		m := MeasurementInfo{Info: info, RequiredBy: []string{}}
		for _, spec := range block.Specs() {
			if slices.Contains(spec.Requires, info.Name) {
				m.RequiredBy = append(m.RequiredBy, spec.Name)
			}
		}
		list = append(list, m)
	}
	return list
}

// Blocks lists what can be ordered.
func (s *Service) Blocks() []block.Spec { return block.Specs() }

// Block finds a block by name.
func (s *Service) Block(name string) (block.Spec, error) {
	spec, ok := block.Find(name)
	if !ok {
		return block.Spec{}, notFound("block")
	}
	return spec, nil
}

// findBlock is Block for a name inside a request.
func findBlock(name string) (block.Spec, error) {
	spec, faults := drafting.FindBlock("/block", name)
	if len(faults) > 0 {
		return spec, invalid(faults)
	}
	return spec, nil
}

// encode writes a value of ours as JSON; what we make always marshals.
// Postgres takes no NUL in JSON, and a style's script can put one into a text:
// it becomes the replacement character.
func encode(v any) json.RawMessage {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	if !bytes.Contains(data, []byte(`\u0000`)) {
		return data
	}
	return escapes.ReplaceAllFunc(data, func(escape []byte) []byte {
		if string(escape) == `\u0000` {
			return []byte(`\ufffd`)
		}
		return escape
	})
}

var escapes = regexp.MustCompile(`\\(u[0-9a-f]{4}|.)`)
