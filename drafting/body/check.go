package body

import (
	"fmt"
	"maps"
	"slices"

	"tapeline/drafting/fault"
)

// check holds the given values against the hard limits.
func check(given Measures) fault.List {
	var faults fault.List
	for _, n := range slices.Sorted(maps.Keys(given)) {
		v := given[n]
		info, ok := Lookup(n)
		if !ok {
			faults = append(faults, fault.Fault{Code: fault.Unknown, Field: Field(n), Accepted: "no such measurement"})
			continue
		}
		if !(v >= info.Min && v <= info.Max) { // refuses NaN too
			faults = append(faults, fault.Fault{
				Code: fault.Range, Field: Field(n), Value: fmt.Sprintf("%g %s", v, info.Unit),
				Accepted: fmt.Sprintf("%s is from %g to %g %s", info.Title, info.Min, info.Max, info.Unit),
			})
		}
	}
	return faults
}
