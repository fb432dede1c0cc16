package drafting

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// ParseOrder reads an order file:
//
//	{"reference": "...", "customer": "...", "date": "2026-01-31", "revision": 1, "unit": "cm",
//	 "measurements": {"bust_girth": 92, ...}, "block": "torso", "fit": "regular",
//	 "choices": {"length": "hip", ...}, "ease": {"bust_girth": 8, ...},
//	 "allowances": {"default": 1, "hem": 3, "back/neckline": 0.6},
//	 "alterations": {"sway_back": 1, "left": {"shoulder_height": -0.8}}}
//
// Lengths are in the order's unit, angles in degrees. Reference, unit,
// measurements and block, or instead of it "style": "shift-dress", are required.
// A style is one of own, which come first, or built in. The error is a
// fault.List of all that is wrong, each fault with the JSON pointer to where.
func ParseOrder(data []byte, own ...*style.Style) (Order, error) {
	root, faults := readJSON(data)
	if len(faults) > 0 && root.kind != kindObject {
		return Order{}, faults
	}
	d := decoder{faults: faults}
	o := d.order(root, own)
	d.add(o.Check())
	if len(d.faults) > 0 {
		return Order{}, d.faults
	}
	return o, nil
}

// ParseMeasurements reads a file of measurements alone, {"unit": "cm",
// "measurements": {...}}, none of which is required. The error is a fault.List.
func ParseMeasurements(data []byte) (body.Unit, body.Body, error) {
	root, faults := readJSON(data)
	if len(faults) > 0 && root.kind != kindObject {
		return "", body.Body{}, faults
	}
	d := decoder{faults: faults}
	top := d.top(root, []string{"unit", "measurements"})
	unit := d.unit(top)
	given := d.measurements(top, unit)
	var person body.Body
	if unit != "" {
		person, faults = body.NewIn(unit, given, nil, nil)
		d.add(faults)
	}
	if len(d.faults) > 0 {
		return "", body.Body{}, d.faults
	}
	return unit, person, nil
}

// ReadMeasurements are the unit and what measurements can be read of an order
// file or a file of measurements, mm, whatever else is wrong with it: what the
// check of plausibility looks at. The unit is "" where it can't be read.
func ReadMeasurements(data []byte) (body.Unit, body.Measures) {
	root, _ := readJSON(data)
	top := map[string]node{}
	for _, m := range root.members {
		top[m.name] = m.value
	}
	var d decoder // its faults are told of by those who read the file for good
	unit := d.unit(top)
	if unit == "" {
		return "", nil
	}
	return unit, d.measurements(top, unit)
}

// decoder turns nodes into an order and collects what is wrong with them.
type decoder struct{ faults fault.List }

// add takes over faults found later, but none where the value could not be
// read in the first place: what has the wrong type is not also missing.
func (d *decoder) add(later fault.List) {
	unread := map[string]bool{}
	for _, f := range d.faults {
		if f.Code != fault.Duplicate && f.Code != fault.Unknown {
			unread[f.Field] = true
		}
	}
	for _, f := range later {
		parent := f.Field[:max(0, strings.LastIndexByte(f.Field, '/'))]
		if !unread[f.Field] && !unread[parent] && !unread[""] {
			d.faults = append(d.faults, f)
		}
	}
}

var orderKeys = []string{"reference", "customer", "date", "revision", "unit", "measurements",
	"block", "style", "fit", "choices", "ease", "allowances", "alterations"}

func (d *decoder) order(root node, own []*style.Style) Order {
	top := d.top(root, orderKeys)
	o := Order{
		Reference: d.text(top, "reference"),
		Customer:  d.text(top, "customer"),
		Date:      d.text(top, "date"),
		Revision:  d.revision(top),
		Unit:      d.unit(top),
		Block:     d.text(top, "block"),
		Style:     d.text(top, "style"),
		Own:       own,
		Fit:       d.text(top, "fit"),
	}
	o.Measurements = d.measurements(top, o.Unit)
	o.Choices = d.choices(top, o)
	o.Ease = d.lengths(top, "ease", o.Unit)
	o.Allowances = d.lengths(top, "allowances", o.Unit)
	o.Alterations = d.alterations(top, o.Unit)
	return o
}

// top is the members of the whole file by name, those that are known.
func (d *decoder) top(root node, known []string) map[string]node {
	if root.kind != kindObject {
		d.wrongType("", root, "an object {...}")
		return nil
	}
	members := make(map[string]node, len(root.members))
	for _, m := range root.members {
		if !slices.Contains(known, m.name) {
			d.faults = append(d.faults, fault.UnknownName(fault.Pointer(m.name), m.name, "field", known))
			continue
		}
		members[m.name] = m.value
	}
	return members
}

func (d *decoder) wrongType(field string, n node, accepted string) {
	d.faults = append(d.faults, fault.Fault{Code: fault.Type, Field: field, Value: n.show(), Accepted: accepted})
}

// text is a member that is text; "" where it is absent.
func (d *decoder) text(top map[string]node, name string) string {
	n, ok := top[name]
	if !ok {
		return ""
	}
	field := fault.Pointer(name)
	if n.kind != kindText {
		d.wrongType(field, n, `text in quotes`)
		return ""
	}
	if n.text == "" {
		d.faults = append(d.faults, fault.Fault{Code: fault.Format, Field: field, Value: `""`, Accepted: "text that is not empty"})
	}
	return n.text
}

// unit is "" where it is not one of an order's.
func (d *decoder) unit(top map[string]node) body.Unit {
	u := body.Unit(d.text(top, "unit"))
	if slices.Contains(body.OrderUnits(), u) {
		return u
	}
	d.add(fault.List{choiceFault("/unit", string(u), unitNames())})
	return ""
}

func (d *decoder) revision(top map[string]node) int {
	n, ok := top["revision"]
	if !ok {
		return 1
	}
	v, err := strconv.Atoi(n.text)
	if n.kind != kindNumber || err != nil {
		d.wrongType("/revision", n, "a whole number from 1 to "+strconv.Itoa(maxRevision))
		return 1
	}
	return v
}

// number is a node's value where it is a number.
func (d *decoder) number(field string, n node) (float64, bool) {
	if n.kind != kindNumber {
		accepted := "a number"
		if _, err := strconv.ParseFloat(n.text, 64); n.kind == kindText && err == nil {
			accepted = "a number, without quotes"
		}
		d.wrongType(field, n, accepted)
		return 0, false
	}
	v, err := strconv.ParseFloat(n.text, 64)
	if errors.Is(err, strconv.ErrRange) {
		d.faults = append(d.faults, fault.Fault{Code: fault.Range, Field: field, Value: n.show(), Accepted: "a number of ordinary size"})
		return 0, false
	}
	return v, err == nil
}

// measurements are in mm; with an unknown unit only their names mean anything.
func (d *decoder) measurements(top map[string]node, unit body.Unit) body.Measures {
	n, ok := top["measurements"]
	if !ok {
		d.add(fault.List{{Code: fault.Missing, Field: "/measurements", Accepted: "required: an object of measurements"}})
		return nil
	}
	var known []string
	for _, info := range body.All() {
		known = append(known, string(info.Name))
	}
	m := body.Measures{}
	for _, mem := range d.members("measurements", n) {
		name, field := body.Name(mem.name), body.Field(body.Name(mem.name))
		info, ok := body.Lookup(name)
		if !ok {
			d.faults = append(d.faults, fault.UnknownName(field, mem.name, "measurement", known))
		}
		v, isNumber := d.number(field, mem.value)
		if !ok || !isNumber {
			continue
		}
		if info.Unit != body.Degree {
			v = unit.MM(v)
		}
		m[name] = v
	}
	return m
}

// members are those of an object at the top, in the order of the file.
func (d *decoder) members(name string, n node) []member {
	if n.kind != kindObject {
		d.wrongType(fault.Pointer(name), n, "an object {...}")
		return nil
	}
	return n.members
}

// choices need the block, which says which numbers are lengths.
func (d *decoder) choices(top map[string]node, o Order) map[string]block.Value {
	n, ok := top["choices"]
	if !ok {
		return nil
	}
	spec, _ := o.spec()
	values := map[string]block.Value{}
	for _, m := range d.members("choices", n) {
		field := fault.Pointer("choices", m.name)
		if m.value.kind == kindText {
			if m.value.text == "" {
				d.faults = append(d.faults, fault.Fault{Code: fault.Format, Field: field, Value: `""`, Accepted: "text that is not empty"})
			}
			values[m.name] = block.Value{Word: m.value.text}
			continue
		}
		c, known := findChoice(spec, m.name)
		if m.value.kind == kindBool && (c.Kind == block.KindYesNo || !known) { // that it is unknown says Check
			values[m.name] = block.Value{Word: map[string]string{"true": "yes", "false": "no"}[m.value.text]}
			continue
		}
		if m.value.kind != kindNumber {
			d.wrongType(field, m.value, "a word in quotes or a number")
			continue
		}
		v, ok := d.number(field, m.value)
		if !ok {
			continue
		}
		if c.Kind == block.KindLength {
			v = o.Unit.MM(v)
		}
		values[m.name] = block.Value{Number: v}
	}
	return values
}

// lengths is an object of lengths by name, in mm; nil where it is absent.
func (d *decoder) lengths(top map[string]node, name string, unit body.Unit) map[string]float64 {
	n, ok := top[name]
	if !ok {
		return nil
	}
	lengths := map[string]float64{}
	for _, m := range d.members(name, n) {
		if v, ok := d.number(fault.Pointer(name, m.name), m.value); ok {
			lengths[m.name] = unit.MM(v)
		}
	}
	return lengths
}
