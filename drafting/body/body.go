package body

import (
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
)

// Measures are measurements as taken, mm (degrees for the shoulder slope).
type Measures map[Name]float64

// Measure is one measurement of a body.
type Measure struct {
	Value     float64 // mm, or degrees
	Estimated bool    // not taken on the body
	Source    string  // of an estimate: its formula and where that comes from; else ""
}

// Body is a person's measurements, those given and those estimated from them.
// It does not change once made.
type Body struct {
	measures map[Name]Measure
}

// New checks what was given and estimates what can be estimated of the rest.
// Faults, all at once, name the fields as /measurements/<name>: names that are
// not known, values outside the hard limits, measurements in requires that
// are missing, and contradictions, one fault at each field involved.
func New(given Measures, requires []Name) (Body, fault.List) {
	faults := check(given)
	faults = append(faults, missing(given, requires)...)
	if len(faults) > 0 {
		return Body{}, faults
	}
	b := Body{measures: make(map[Name]Measure, len(infos))}
	for n, v := range given {
		b.measures[n] = Measure{Value: v}
	}
	b.estimate()
	return b, nil
}

// Get is a measurement; the zero Measure where it is neither given nor
// follows from what was.
func (b Body) Get(n Name) Measure { return b.measures[n] }

// Value is a measurement's value, mm (degrees for the shoulder slope); 0
// where it is not known.
func (b Body) Value(n Name) float64 { return b.measures[n].Value }

// Has tells whether a measurement is given or estimated.
func (b Body) Has(n Name) bool { _, ok := b.measures[n]; return ok }

// Given tells whether a measurement was taken on the body.
func (b Body) Given(n Name) bool { m, ok := b.measures[n]; return ok && !m.Estimated }

// Names are the measurements that the body has, sorted.
func (b Body) Names() []Name { return slices.Sorted(maps.Keys(b.measures)) }

// instead lists the sets of measurements of which one will do where a required
// measurement was not taken, because it then follows from them.
var instead = map[Name][][]Name{
	BackWidth:  {{BackWidthArmpitLevel}},
	WaistToHip: {{WaistHeight, HipHeight}, {Height}},
}

func missing(given Measures, requires []Name) fault.List {
	var faults fault.List
	has := func(n Name) bool { _, ok := given[n]; return ok }
	all := func(set []Name) bool { return !slices.ContainsFunc(set, func(n Name) bool { return !has(n) }) }
	for _, n := range requires {
		if has(n) || slices.ContainsFunc(instead[n], all) {
			continue
		}
		info, _ := Lookup(n)
		accepted := "required: " + info.How
		for _, set := range instead[n] {
			names := make([]string, len(set))
			for i, s := range set {
				names[i] = string(s)
			}
			accepted += "; or give " + strings.Join(names, " and ")
		}
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: Field(n), Accepted: accepted})
	}
	return faults
}

// Field is the JSON pointer of a measurement in an order.
func Field(n Name) string { return "/measurements/" + string(n) }
