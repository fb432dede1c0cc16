package body

import (
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
)

// Field is the JSON pointer of a measurement in an order.
func Field(n Name) string { return fault.Pointer("measurements", string(n)) }

// limits holds the given values against the hard limits; values are written
// in unit.
func limits(given Measures, unit Unit) fault.List {
	var faults fault.List
	for _, n := range slices.Sorted(maps.Keys(given)) {
		info, ok := Lookup(n)
		if !ok {
			faults = append(faults, fault.UnknownName(Field(n), string(n), "measurement", knownNames()))
			continue
		}
		v, u := given[n], unit.of(info)
		if v >= info.Min && v <= info.Max { // never true of NaN
			continue
		}
		faults = append(faults, fault.Fault{
			Code: fault.Range, Field: Field(n), Value: u.Format(v),
			Accepted: info.Title + " is from " + u.FormatRange(info.Min, info.Max) + mistakenUnit(v, info, u),
		})
	}
	return faults
}

// mistakenUnit hints at the unit in which an impossible length would be a
// likely one, where there is only one.
func mistakenUnit(mm float64, info Info, unit Unit) string {
	var hints []string
	for _, other := range []Unit{Inch, Centimetre, Millimetre} {
		if v := other.MM(unit.From(mm)); other != unit && unit != Degree && v >= info.Min && v <= info.Max {
			hints = append(hints, string(other))
		}
	}
	if len(hints) != 1 {
		return ""
	}
	return "; is it in " + hints[0] + "?"
}

func knownNames() []string {
	all := make([]string, len(infos))
	for i, info := range infos {
		all[i] = string(info.Name)
	}
	return all
}

// Missing are the measurements of requires that were neither given nor follow
// from what was, and those of uses that could not even be estimated were all
// of requires given. It looks at no value.
func Missing(given Measures, requires, uses []Name) fault.List {
	var faults fault.List
	has := func(n Name) bool { _, ok := given[n]; return ok }
	for _, n := range requires {
		if !has(n) && !slices.ContainsFunc(instead(n), func(set []Name) bool { return all(set, has) }) {
			faults = append(faults, missingFault(n))
		}
	}
	follows := map[Name]bool{}
	known := func(n Name) bool { return has(n) || follows[n] }
	for _, n := range requires {
		follows[n] = true
	}
	for _, r := range rules {
		if all(r.from, known) {
			follows[r.name] = true
		}
	}
	for _, n := range uses {
		if !known(n) && !(modelled(n) && len(given)+len(requires) > 0) {
			faults = append(faults, missingFault(n))
		}
	}
	return faults
}

// instead lists the sets of measurements of which one will do where a required
// measurement was not taken.
func instead(n Name) [][]Name {
	var sets [][]Name
	for _, r := range rules {
		if r.name == n && r.worth != fills {
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
	for _, set := range instead(n) {
		names := make([]string, len(set))
		for i, s := range set {
			names[i] = string(s)
		}
		accepted += "; or give " + strings.Join(names, " and ")
	}
	return fault.Fault{Code: fault.Missing, Field: Field(n), Accepted: accepted}
}
