package body

import (
	"maps"
	"slices"

	"tapeline/drafting/fault"
)

// Measures maps names to measurements as taken, in mm (the shoulder slope in
// degrees).
type Measures map[Name]float64

// Measure is one measurement of a Body.
type Measure struct {
	Value     float64 // mm, or degrees
	Spread    float64 // standard deviation of an estimate among bodies with the same given measurements
	Estimated bool    // neither given nor the plain difference of given measurements
	Source    string  // formula of a value that was not given, and its source; "" if given
}

// Body is a person's measurements: those given, and those derived from them.
// It is immutable.
type Body struct {
	measures map[Name]Measure
	woman    float64 // probability by the given measurements, from the model of bodies
}

// New is NewIn with faults in mm and without measurements that only the model
// can estimate.
func New(given Measures, requires []Name) (Body, fault.List) {
	return NewIn(Millimetre, given, requires, nil)
}

// NewIn validates the given measurements, in mm whatever the unit, and adds
// those that follow from them. It adds those of uses that no rule gives from
// the model of bodies.
//
// It returns all faults at once, at /measurements/<name>, with lengths in unit:
// unknown names; values outside the hard limits, among them NaN and infinities;
// measurements in requires that are missing, or in uses and cannot be
// estimated; and contradictions, each with the other fields involved. If
// requires or uses names any, only what is in them or can stand in for them can
// contradict: nobody's skirt depends on the front length.
func NewIn(unit Unit, given Measures, requires, uses []Name) (Body, fault.List) {
	faults := limitFaults(given, unit)
	faults = append(faults, Missing(given, requires, uses)...)
	faults = append(faults, contradictions(relevant(insideLimits(given), requires, uses), unit)...)
	if len(faults) > 0 {
		return Body{}, faults
	}
	b := Body{measures: make(map[Name]Measure, len(infos))}
	for n, v := range given {
		b.measures[n] = Measure{Value: v}
	}
	b.applyRules()
	b.woman = b.applyModel(uses)
	return b, nil
}

// relevant returns the measurements in requires and uses, and those from which
// they can be derived. Without any of both it returns all.
func relevant(given Measures, requires, uses []Name) Measures {
	if len(requires)+len(uses) == 0 {
		return given
	}
	counts := map[Name]bool{}
	for _, n := range slices.Concat(requires, uses) {
		counts[n] = true
	}
	for range 2 { // a rule may use the result of another
		for _, r := range rules {
			for _, n := range r.from {
				counts[n] = counts[n] || counts[r.name]
			}
		}
	}
	maps.DeleteFunc(given, func(n Name, _ float64) bool { return !counts[n] })
	return given
}

// insideLimits returns the measurements inside their hard limits, so that an
// impossible number is one fault and does not contradict all others as well.
func insideLimits(given Measures) Measures {
	m := maps.Clone(given)
	maps.DeleteFunc(m, func(n Name, v float64) bool {
		info, ok := Lookup(n)
		return !ok || !info.allows(v)
	})
	return m
}

// Get returns a measurement, the zero Measure if it is unknown.
func (b Body) Get(n Name) Measure { return b.measures[n] }

// Value returns a measurement in mm (degrees for the shoulder slope), 0 if it
// is unknown.
func (b Body) Value(n Name) float64 { return b.measures[n].Value }

// Find returns a measurement in mm (degrees for the shoulder slope), and false if
// it is unknown.
func (b Body) Find(n Name) (float64, bool) { m, ok := b.measures[n]; return m.Value, ok }

// Has reports whether a measurement was given or follows from those given.
func (b Body) Has(n Name) bool { _, ok := b.measures[n]; return ok }

// Given reports whether a measurement was taken on the body.
func (b Body) Given(n Name) bool { m, ok := b.measures[n]; return ok && m.Source == "" }

// Woman reports whether the given measurements are more likely a woman's than a
// man's, by the model of bodies.
func (b Body) Woman() bool { return b.woman > 0.5 }

// Womanly returns the probability that the body is a woman's, from 0 to 1.
func (b Body) Womanly() float64 { return b.woman }

// Names returns the names of all measurements that the body has, sorted.
func (b Body) Names() []Name { return slices.Sorted(maps.Keys(b.measures)) }
