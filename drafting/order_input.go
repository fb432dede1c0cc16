package drafting

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// OrderInput is an order as a shop gives it. Lengths are in Unit and angles in
// degrees. Unit, Measurements and one of Block and Style are required.
type OrderInput struct {
	Unit         string             `json:"unit"` // cm or inch
	Measurements map[string]float64 `json:"measurements"`
	Block        string             `json:"block,omitempty"`
	Style        string             `json:"style,omitempty"` // by its slug
	Fit          string             `json:"fit,omitempty"`   // "" is the first of the block or style
	Choices      map[string]any     `json:"choices,omitempty"`
	Ease         map[string]float64 `json:"ease,omitempty"`
	Allowances   map[string]float64 `json:"allowances,omitempty"`

	// Alterations holds numbers by name, and under left and right maps of the
	// numbers of one side.
	Alterations map[string]any `json:"alterations,omitempty"`
}

// NewOrder converts an order to mm and checks it. A style is one of styles,
// which come first, or built in. A choice is a string, a float64 or, where yes
// and no are to choose from, a bool. The faults are everything that is wrong
// with the input, each at its JSON pointer; with faults the order is what could
// be read of it.
func NewOrder(in OrderInput, styles ...*style.Style) (Order, fault.List) {
	unit := body.Unit(in.Unit)
	o := Order{Told: true, Unit: unit, Measurements: unit.Measures(in.Measurements), Block: in.Block, Style: in.Style,
		Fit: in.Fit, Ease: Lengths(unit, in.Ease), Allowances: Lengths(unit, in.Allowances)}
	if in.Style != "" {
		o.Garment, _ = findStyle(in.Style, styles)
	}
	spec, specFaults := o.Spec()
	if o.Fit == "" && len(specFaults) == 0 {
		o.Fit = spec.Fits[0].Name
	}
	var faults, more fault.List
	o.Choices, faults = newChoices(in.Choices, spec, unit)
	o.Alterations, more = newAlterations(unit, in.Alterations)
	faults = append(faults, more...)
	if in.Measurements == nil {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: "/measurements",
			Accepted: "required: an object of measurements"})
	}
	for _, f := range o.Check() {
		if in.Measurements != nil || !strings.HasPrefix(f.Field, "/measurements/") {
			faults = append(faults, f)
		}
	}
	return o, faults
}

// Input returns the order as a shop would give it, in its unit.
func (o Order) Input() OrderInput {
	in := o.Stored().Input()
	in.Measurements = o.Unit.Values(o.Measurements)
	for name, mm := range o.Alterations.Both {
		in.setAlteration(name, o.Unit.From(mm))
	}
	for side, values := range map[string]map[string]float64{"left": o.Alterations.Left, "right": o.Alterations.Right} {
		given := map[string]any{}
		for name, mm := range values {
			given[name] = o.Unit.From(mm)
		}
		if len(given) > 0 {
			in.setAlteration(side, given)
		}
	}
	return in
}

func (in *OrderInput) setAlteration(name string, v any) {
	if in.Alterations == nil {
		in.Alterations = map[string]any{}
	}
	in.Alterations[name] = v
}

// Lengths converts lengths by name from unit to mm; nil stays nil.
func Lengths(unit body.Unit, given map[string]float64) map[string]float64 {
	if given == nil {
		return nil
	}
	mm := make(map[string]float64, len(given))
	for name, v := range given {
		mm[name] = unit.MM(v)
	}
	return mm
}

// NewBody converts measurements to mm and checks them, none being required.
func NewBody(unit body.Unit, given map[string]float64) (body.Body, fault.List) {
	person, faults := newBody(unit, unit.Measures(given), nil, nil)
	if !unitKnown(unit) {
		faults = append(fault.List{choiceFault("/unit", string(unit), unitNames())}, faults...)
	}
	return person, faults
}

// newBody is body.NewIn, which of measurements in an unknown unit checks the
// names only.
func newBody(unit body.Unit, given body.Measures, requires, uses []body.Name) (body.Body, fault.List) {
	if unitKnown(unit) {
		return body.NewIn(unit, given, requires, uses)
	}
	_, faults := body.NewIn(body.Millimetre, given, requires, uses)
	return body.Body{}, slices.DeleteFunc(faults, func(f fault.Fault) bool {
		return f.Code != fault.Unknown && f.Code != fault.Missing
	})
}

// unitKnown reports whether lengths can be written in the unit. Without one
// their limits are not checked: an unknown unit is one fault.
func unitKnown(unit body.Unit) bool { return slices.Contains(body.OrderUnits(), unit) }

// newChoices converts choices; the block says which numbers are lengths.
func newChoices(given map[string]any, spec block.Spec, unit body.Unit) (map[string]block.Value, fault.List) {
	if given == nil {
		return nil, nil
	}
	var faults fault.List
	values := make(map[string]block.Value, len(given))
	for _, name := range slices.Sorted(maps.Keys(given)) {
		c, known := findChoice(spec, name)
		f := fault.Fault{Code: fault.Type, Field: fault.Pointer("choices", name), Value: showInput(given[name]),
			Accepted: "a word in quotes or a number"}
		switch v := given[name].(type) {
		case string:
			if v == "" {
				f.Code, f.Accepted = fault.Format, "a string that is not empty"
				faults = append(faults, f)
				continue
			}
			values[name] = block.Value{Word: v}
		case float64:
			values[name] = block.Value{Number: v}
			if c.Kind == block.KindLength {
				values[name] = block.Value{Number: unit.MM(v), Length: true}
			}
		case bool:
			if known && c.Kind != block.KindYesNo {
				faults = append(faults, f)
				continue
			}
			values[name] = block.YesNo(v)
		default:
			faults = append(faults, f)
		}
	}
	return values, faults
}

// showInput quotes a value of an input in a fault.
func showInput(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case string:
		return fault.Shorten(v)
	case float64, bool:
		return fmt.Sprint(v)
	case []any:
		return "[…]"
	default:
		return "{…}"
	}
}
