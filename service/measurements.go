package service

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"sync"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/body/population"
	"tapeline/drafting/fault"
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
	Source    string  `json:"source,omitempty"` // of what was not given
	mm        float64
}

// CheckMeasurements checks without storing; with a block, also that nothing is
// missing that the block needs. An unknown block is an Error.
func (s *Service) CheckMeasurements(m Measured, blockName string) (Report, error) {
	var spec block.Spec
	if blockName != "" {
		var err error
		if spec, err = findBlock(blockName); err != nil {
			return Report{}, err
		}
	}
	return check(m, spec.Requires, spec.Uses), nil
}

func check(m Measured, requires, uses []body.Name) Report {
	unit := body.Unit(m.Unit)
	given := make(body.Measures, len(m.Values))
	for name, v := range m.Values {
		if info, ok := body.Lookup(body.Name(name)); !ok || info.Unit != body.Degree {
			v = unit.MM(v)
		}
		given[body.Name(name)] = v
	}
	person, faults := body.NewIn(unit, given, requires, uses)
	r := Report{Findings: []Finding{}, Measures: []CheckedSize{}}
	for _, f := range faults {
		r.Findings = append(r.Findings, Finding{LevelRefuse, f})
	}
	if len(faults) == 0 {
		r.Findings = append(r.Findings, askAbout(unit, given)...)
	}
	for _, n := range person.Names() {
		r.Measures = append(r.Measures, checkedSize(person, n, unit))
	}
	return r
}

func checkedSize(person body.Body, n body.Name, unit body.Unit) CheckedSize {
	measure := person.Get(n)
	size := CheckedSize{Name: string(n), Value: measure.Value, Unit: string(body.Degree),
		Estimated: measure.Estimated, Source: measure.Source, mm: measure.Value}
	if info, _ := body.Lookup(n); info.Unit != body.Degree {
		size.Unit, size.Value = string(unit), unit.From(measure.Value)
	}
	return size
}

// faults are those that refuse the set.
func (r Report) faults() fault.List { return r.at(LevelRefuse) }

// checker holds sets against the model of bodies.
var checker = sync.OnceValue(func() *plausible.Checker {
	c, err := plausible.New(population.People(), plausible.DefaultLevels)
	if err != nil {
		panic(err) // model and levels are the program's own
	}
	return c
})

// askAbout finds numbers that do not go with the others, each as a question
// that the shop may put to its customer.
func askAbout(unit body.Unit, given body.Measures) []Finding {
	var findings []Finding
	for _, f := range checker().Check(unit, given).Findings {
		value := ""
		if f.Name != "" {
			in := unit
			if info, _ := body.Lookup(f.Name); info.Unit == body.Degree {
				in = body.Degree
			}
			value = in.Format(f.Given)
		}
		findings = append(findings, Finding{string(f.Level),
			fault.Fault{Code: fault.Implausible, Field: f.Field, Value: value, Accepted: f.Question, Related: f.Related}})
	}
	return findings
}

// mm is the set in mm, estimates included, as it is stored beside what was
// given.
func (r Report) mm() map[string]float64 {
	sizes := make(map[string]float64, len(r.Measures))
	for _, m := range r.Measures {
		sizes[m.Name] = m.mm
	}
	return sizes
}

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
	spec, ok := block.Find(name)
	if !ok {
		var known []string
		for _, s := range block.Specs() {
			known = append(known, s.Name)
		}
		return block.Spec{}, invalid(fault.List{fault.UnknownName("/block", name, "block", known)})
	}
	return spec, nil
}

// encode writes a value of ours as JSON; what we make always marshals.
func encode(v any) json.RawMessage {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return data
}

// sortedKeys are a map's keys in order.
func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
