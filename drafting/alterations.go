package drafting

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
)

// Alterations are the corrections that a fitting found for one customer, mm by
// name; see block.Spec. Left and Right replace those of Both on one side.
type Alterations struct {
	Both  map[string]float64 `json:"both,omitempty"`
	Left  map[string]float64 `json:"left,omitempty"`
	Right map[string]float64 `json:"right,omitempty"`
}

// NewAlterations converts a customer's alterations, as OrderInput has them, to
// mm. Each must be one that some block knows, and within its limits. The faults
// are everything that is wrong with them.
func NewAlterations(unit body.Unit, given map[string]any) (Alterations, fault.List) {
	a, faults := newAlterations(unit, given)
	if !unitKnown(unit) {
		faults = append(faults, choiceFault("/unit", string(unit), unitNames()))
		unit = ""
	}
	return a, append(faults, a.check(block.Alterations(), unit, "alteration")...)
}

// newAlterations converts numbers by name, and those of the left and the right
// alone.
func newAlterations(unit body.Unit, given map[string]any) (Alterations, fault.List) {
	if given == nil {
		return Alterations{}, nil
	}
	var faults fault.List
	wrongType := func(v any, accepted string, at ...string) {
		faults = append(faults, fault.Fault{Code: fault.Type, Field: fault.Pointer(append([]string{"alterations"}, at...)...),
			Value: showInput(v), Accepted: accepted})
	}
	numbers := func(values map[string]any, at ...string) map[string]float64 {
		mm := map[string]float64{}
		for _, name := range slices.Sorted(maps.Keys(values)) {
			if v, ok := values[name].(float64); ok {
				mm[name] = unit.MM(v)
			} else {
				wrongType(values[name], "a number", append(at, name)...)
			}
		}
		return mm
	}
	side := func(name string) map[string]float64 {
		values, ok := given[name].(map[string]any)
		if _, there := given[name]; there && !ok {
			wrongType(given[name], "an object {...}", name)
		}
		if !ok {
			return nil
		}
		return numbers(values, name)
	}
	both := maps.Clone(given)
	delete(both, "left")
	delete(both, "right")
	a := Alterations{Both: numbers(both), Left: side("left"), Right: side("right")}
	return a, faults
}

// list returns the alterations by name, those of both sides first.
func (a Alterations) list() []pattern.Alteration {
	var list []pattern.Alteration
	for _, s := range []struct {
		side string
		mm   map[string]float64
	}{{"", a.Both}, {"left", a.Left}, {"right", a.Right}} {
		for _, name := range slices.Sorted(maps.Keys(s.mm)) {
			if s.mm[name] != 0 {
				list = append(list, pattern.Alteration{Name: name, Side: s.side, Value: s.mm[name]})
			}
		}
	}
	return list
}

// check lists what is wrong with alterations that may be those of known; what
// names their kind as in "alteration of the torso block". Without a unit only
// names are checked.
func (a Alterations) check(known []block.Alteration, unit body.Unit, what string) fault.List {
	var all, sided []limit
	for _, k := range known {
		l := limit{k.Name, k.Min, k.Max}
		all = append(all, l)
		if k.Sided {
			sided = append(sided, l)
		}
	}
	const noun, one = "an alteration", "alteration of one side"
	faults := checkLengths(a.Both, all, unit, noun, what, []string{"alterations"})
	faults = append(faults, checkLengths(a.Left, sided, unit, noun, one, []string{"alterations", "left"})...)
	return append(faults, checkLengths(a.Right, sided, unit, noun, one, []string{"alterations", "right"})...)
}

// Altered returns the order with its customer's alterations instead of its own.
// Those that its block or style does not have are left out, and the draft warns
// of them: a sway back does not matter to a circle skirt.
func (o Order) Altered(customer Alterations) Order {
	spec, faults := o.Spec()
	if len(faults) > 0 {
		return o // Draft reports them
	}
	o.unused = nil
	take := func(values map[string]float64, sided bool) map[string]float64 {
		taken := map[string]float64{}
		for _, name := range slices.Sorted(maps.Keys(values)) {
			has := slices.ContainsFunc(spec.Alterations, func(a block.Alteration) bool {
				return a.Name == name && (a.Sided || !sided)
			})
			switch {
			case has:
				taken[name] = values[name]
			case values[name] != 0 && !slices.Contains(o.unused, name):
				o.unused = append(o.unused, name)
			}
		}
		return taken
	}
	o.Alterations = Alterations{Both: take(customer.Both, false), Left: take(customer.Left, true),
		Right: take(customer.Right, true)}
	return o
}

// warnOfAlterations adds to the draft's warnings what it was altered by, which
// the checks can't tell where no measure goes by it, and which of the
// customer's alterations were not applied.
func (o Order) warnOfAlterations(p *pattern.Pattern) {
	altered := o.listAlterations("", o.Alterations.Both)
	altered = append(altered, o.listAlterations("left ", o.Alterations.Left)...)
	altered = append(altered, o.listAlterations("right ", o.Alterations.Right)...)
	if len(altered) > 0 {
		p.Warnings = append(p.Warnings, "altered for this customer: "+strings.Join(altered, ", "))
	}
	if len(o.unused) > 0 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("kept for this customer, but no alteration of %s: %s",
			o.subject(), strings.Join(o.unused, ", ")))
	}
}

// listAlterations writes alterations with their values, in the order's unit.
func (o Order) listAlterations(side string, values map[string]float64) []string {
	var list []string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if values[name] != 0 || side != "" {
			value := o.Unit.Format(values[name])
			list = append(list, side+strings.ReplaceAll(name, "_", " ")+" "+value)
		}
	}
	return list
}
