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
// name; see block.Spec. Left and Right hold what one side has instead.
type Alterations struct {
	Both        map[string]float64
	Left, Right map[string]float64
}

// side is where the alterations of the side of that name are kept; nil where
// it names none.
func (a *Alterations) side(name string) *map[string]float64 {
	switch name {
	case "left":
		return &a.Left
	case "right":
		return &a.Right
	}
	return nil
}

// ParseAlterations reads the alterations kept for a customer:
//
//	{"unit": "cm", "alterations": {"sway_back": 1, "left": {"shoulder_height": -0.8}}}
//
// Whatever they are applied to later, each must be one that some block knows,
// and within the limits. The error is a fault.List.
func ParseAlterations(data []byte) (Alterations, error) {
	root, faults := readJSON(data)
	if len(faults) > 0 && root.kind != kindObject {
		return Alterations{}, faults
	}
	d := decoder{faults: faults}
	top := d.top(root, []string{"unit", "alterations"})
	unit := d.unit(top)
	if _, ok := top["alterations"]; !ok {
		d.add(fault.List{{Code: fault.Missing, Field: "/alterations", Accepted: "required: an object of alterations, {} for none"}})
	}
	a := d.alterations(top, unit)
	d.add(a.check(block.Alterations(), unit, "alteration"))
	if len(d.faults) > 0 {
		return Alterations{}, d.faults
	}
	return a, nil
}

// alterations are lengths by name, and objects of them for the left and the
// right alone.
func (d *decoder) alterations(top map[string]node, unit body.Unit) Alterations {
	n, ok := top["alterations"]
	if !ok {
		return Alterations{}
	}
	a := Alterations{Both: map[string]float64{}}
	for _, m := range d.members("alterations", n) {
		field := fault.Pointer("alterations", m.name)
		side := a.side(m.name)
		if side == nil {
			if v, ok := d.number(field, m.value); ok {
				a.Both[m.name] = unit.MM(v)
			}
			continue
		}
		if m.value.kind != kindObject {
			d.wrongType(field, m.value, "an object {...}")
			continue
		}
		*side = map[string]float64{}
		for _, own := range m.value.members {
			if v, ok := d.number(fault.Pointer("alterations", m.name, own.name), own.value); ok {
				(*side)[own.name] = unit.MM(v)
			}
		}
	}
	return a
}

// check finds what is wrong with alterations that may be those of known; what
// they are is named as in "alteration of the torso block". Without a unit only
// their names are looked at.
func (a Alterations) check(known []block.Alteration, unit body.Unit, what string) fault.List {
	faults := checkSide(known, a.Both, unit, what, "alterations")
	sided := slices.DeleteFunc(slices.Clone(known), func(k block.Alteration) bool { return !k.Sided })
	faults = append(faults, checkSide(sided, a.Left, unit, "alteration of one side", "alterations", "left")...)
	return append(faults, checkSide(sided, a.Right, unit, "alteration of one side", "alterations", "right")...)
}

func (o Order) checkAlterations(spec block.Spec) fault.List {
	unit := o.Unit
	if !o.unitKnown() {
		unit = ""
	}
	return o.Alterations.check(spec.Alterations, unit, "alteration of "+o.subject())
}

// checkSide checks the alterations of both sides, or of one.
func checkSide(known []block.Alteration, values map[string]float64, unit body.Unit, what string, at ...string) fault.List {
	var faults fault.List
	var names []string
	for _, k := range known {
		names = append(names, k.Name)
	}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		field, mm := fault.Pointer(append(slices.Clone(at), name)...), values[name]
		i := slices.Index(names, name)
		if i < 0 {
			faults = append(faults, fault.UnknownName(field, name, what, names))
		} else if unit != "" && !(mm >= known[i].Min && mm <= known[i].Max) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: unit.Format(mm),
				Accepted: "an alteration from " + unit.FormatRange(known[i].Min, known[i].Max)})
		}
	}
	return faults
}

// WithKept is the order with the alterations kept for its customer, instead of
// its own. Those that its block or style has none of are left out, and the
// draft says so: a sway back does not matter to a circle skirt.
func (o Order) WithKept(kept Alterations) Order {
	spec, faults := o.spec()
	if len(faults) > 0 {
		return o // told of when it is drafted
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
	o.Alterations = Alterations{Both: take(kept.Both, false), Left: take(kept.Left, true), Right: take(kept.Right, true)}
	return o
}

// noteAlterations says in the draft what it was altered by, which the checks
// can't tell where no measure goes by it, and which kept alterations were not
// applied.
func (o Order) noteAlterations(p *pattern.Pattern) {
	if by := slices.Concat(o.altered("", o.Alterations.Both), o.altered("left ", o.Alterations.Left), o.altered("right ", o.Alterations.Right)); len(by) > 0 {
		p.Warnings = append(p.Warnings, "altered for this customer: "+strings.Join(by, ", "))
	}
	if len(o.unused) > 0 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("kept for this customer, but no alteration of %s: %s",
			o.subject(), strings.Join(o.unused, ", ")))
	}
}

// altered lists alterations with their values, in the order's unit.
func (o Order) altered(side string, values map[string]float64) []string {
	var list []string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if values[name] != 0 || side != "" {
			list = append(list, side+strings.ReplaceAll(name, "_", " ")+" "+o.Unit.Format(values[name]))
		}
	}
	return list
}
