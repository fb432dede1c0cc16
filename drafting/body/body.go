package body

import (
	"maps"
	"slices"

	"tapeline/drafting/fault"
)

// Measures are measurements as taken, mm (degrees for the shoulder slope).
type Measures map[Name]float64

// Measure is one measurement of a body.
type Measure struct {
	Value     float64 // mm, or degrees
	Spread    float64 // of an estimate: bodies with the same measurements given vary so (standard deviation)
	Estimated bool    // neither taken nor the plain sum of what was
	Source    string  // of what was not taken: its formula and where that comes from
}

// Body is a person's measurements: those given, and those that follow from
// them. It does not change once made.
type Body struct {
	measures map[Name]Measure
}

// New is NewIn with values in faults written in mm and nothing but requires
// asked for.
func New(given Measures, requires []Name) (Body, fault.List) {
	return NewIn(Millimetre, given, requires, nil)
}

// NewIn checks what was given and adds what follows from it; of uses also what
// only the model of bodies can tell. Measures are in mm whatever the unit, in
// which faults write them. Faults, all at once, are
// at /measurements/<name>: names not known, values outside the hard limits,
// measurements missing that are in requires, or in uses and not to be
// estimated, and contradictions, each with the other fields involved.
func NewIn(unit Unit, given Measures, requires, uses []Name) (Body, fault.List) {
	faults := limits(given, unit)
	faults = append(faults, Missing(given, requires, uses)...)
	faults = append(faults, contradictions(within(given), unit)...)
	if len(faults) > 0 {
		return Body{}, faults
	}
	b := Body{measures: make(map[Name]Measure, len(infos))}
	for n, v := range given {
		b.measures[n] = Measure{Value: v}
	}
	b.estimate()
	b.expect(uses)
	return b, nil
}

// within are the measures inside their hard limits: one wrong number is one
// fault and does not contradict all the others too.
func within(given Measures) Measures {
	m := maps.Clone(given)
	maps.DeleteFunc(m, func(n Name, v float64) bool {
		info, ok := Lookup(n)
		return !ok || !(v >= info.Min && v <= info.Max)
	})
	return m
}

// Get is a measurement; the zero Measure where it is neither given nor
// follows from what was.
func (b Body) Get(n Name) Measure { return b.measures[n] }

// Value is a measurement's value, mm (degrees for the shoulder slope); 0
// where it is not known.
func (b Body) Value(n Name) float64 { return b.measures[n].Value }

// Has tells whether a measurement is given or follows from those given.
func (b Body) Has(n Name) bool { _, ok := b.measures[n]; return ok }

// Given tells whether a measurement was taken on the body.
func (b Body) Given(n Name) bool { m, ok := b.measures[n]; return ok && m.Source == "" }

// Names are the measurements that the body has, sorted.
func (b Body) Names() []Name { return slices.Sorted(maps.Keys(b.measures)) }
