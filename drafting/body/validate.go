package body

import (
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
)

// Field returns the JSON pointer of a measurement in an order.
func Field(n Name) string { return fault.Pointer("measurements", string(n)) }

// limitFaults returns the faults of unknown names and of values outside the
// hard limits, with lengths in unit.
func limitFaults(given Measures, unit Unit) fault.List {
	var faults fault.List
	for _, n := range slices.Sorted(maps.Keys(given)) {
		info, ok := Lookup(n)
		if !ok {
			faults = append(faults, fault.UnknownName(Field(n), string(n), "measurement", knownNames()))
			continue
		}
		v, u := given[n], unit.Of(n)
		if info.allows(v) {
			continue
		}
		faults = append(faults, fault.Fault{
			Code: fault.Range, Field: Field(n), Value: u.Format(v),
			Accepted: info.Title + " is from " + u.FormatRange(info.Min, info.Max) + suggestUnit(v, info, u),
		})
	}
	return faults
}

// suggestUnit asks about the unit in which the number of an impossible length
// would be possible, if there is exactly one.
func suggestUnit(mm float64, info Info, unit Unit) string {
	var units []string
	for _, other := range []Unit{Inch, Centimetre, Millimetre} {
		if other != unit && unit != Degree && info.allows(other.MM(unit.From(mm))) {
			units = append(units, string(other))
		}
	}
	if len(units) != 1 {
		return ""
	}
	return "; is it in " + units[0] + "?"
}

func knownNames() []string {
	all := make([]string, len(infos))
	for i, info := range infos {
		all[i] = string(info.Name)
	}
	return all
}

// Missing returns a fault for each measurement in requires that neither is
// given nor follows from those given, and for each in uses that could not be
// estimated even if all in requires were given. It ignores the values.
func Missing(given Measures, requires, uses []Name) fault.List {
	var faults fault.List
	has := func(n Name) bool { _, ok := given[n]; return ok }
	for _, n := range requires {
		if !has(n) && !slices.ContainsFunc(substitutes(n), func(set []Name) bool { return all(set, has) }) {
			faults = append(faults, missingFault(n))
		}
	}
	for _, n := range unknown(given, requires, uses) {
		faults = append(faults, missingFault(n))
	}
	return faults
}

// unknown returns the measurements in uses that are not given and could not be
// estimated even if all in requires were given.
func unknown(given Measures, requires, uses []Name) []Name {
	follows := map[Name]bool{}
	known := func(n Name) bool { return follows[n] }
	for _, n := range slices.Concat(slices.Collect(maps.Keys(given)), requires) {
		follows[n] = true
	}
	for _, r := range rules {
		if all(r.from, known) {
			follows[r.name] = true
		}
	}
	return slices.DeleteFunc(slices.Clone(uses), func(n Name) bool {
		return known(n) || inModel(n) && len(given)+len(requires) > 0
	})
}

// Alternatives returns, for each measurement in uses that cannot be estimated
// from those in requires, the measurements of which one must be given: itself, and
// those from which it can be estimated.
func Alternatives(requires, uses []Name) [][]Name {
	var list [][]Name
	for _, n := range unknown(nil, requires, uses) {
		one := []Name{n}
		for _, info := range infos {
			if info.Name != n && len(unknown(Measures{info.Name: 0}, requires, []Name{n})) == 0 {
				one = append(one, info.Name)
			}
		}
		list = append(list, one)
	}
	return list
}

// substitutes returns the sets of measurements each of which can replace a
// required one.
func substitutes(n Name) [][]Name {
	var sets [][]Name
	for _, r := range rules {
		if r.name == n && r.quality != optional {
			sets = append(sets, r.from)
		}
	}
	return sets
}

func all(set []Name, has func(Name) bool) bool {
	return !slices.ContainsFunc(set, func(n Name) bool { return !has(n) })
}

func missingFault(n Name) fault.Fault {
	info, _ := Lookup(n)
	accepted := "required: " + info.How
	for _, set := range substitutes(n) {
		names := make([]string, len(set))
		for i, s := range set {
			names[i] = string(s)
		}
		accepted += "; or give " + strings.Join(names, " and ")
	}
	return fault.Fault{Code: fault.Missing, Field: Field(n), Accepted: accepted}
}
