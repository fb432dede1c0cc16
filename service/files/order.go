// Package files reads what the command line is given: orders and measurements
// in files.
package files

import (
	"slices"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service/strictjson"
)

// orderFile is an order in a file:
//
//	{"reference": "...", "customer": "...", "date": "2026-01-31", "revision": 1, "unit": "cm",
//	 "measurements": {"bust_girth": 92, ...}, "block": "torso", "fit": "regular",
//	 "choices": {"length": "hip", ...}, "ease": {"bust_girth": 8, ...},
//	 "allowances": {"default": 1, "hem": 3, "back/neckline": 0.6},
//	 "alterations": {"sway_back": 1, "left": {"shoulder_height": -0.8}}}
//
// Lengths are in the order's unit, angles in degrees. Reference, unit,
// measurements and block, or instead of it "style": "shift-dress", are required.
type orderFile struct {
	drafting.Label
	drafting.OrderInput
}

// measurementsFile is a file of measurements alone.
type measurementsFile struct {
	Unit         string             `json:"unit"`
	Measurements map[string]float64 `json:"measurements"`
}

// ParseOrder reads an order file. Its style is one of styles, which come first,
// or built in. The error is a fault.List of everything that is wrong, each
// fault with its JSON pointer.
func ParseOrder(data []byte, styles ...*style.Style) (drafting.Order, error) {
	file := orderFile{Label: drafting.Label{Revision: 1}}
	faults := strictjson.Decode(data, &file)
	o, later := drafting.NewOrder(file.OrderInput, styles...)
	o.Label = file.Label
	faults = strictjson.Merge(faults, append(file.Label.Check(), later...))
	return o, faults.Err()
}

// ParseMeasurements reads a file of measurements alone, {"unit": "cm",
// "measurements": {...}}, none of which is required. The error is a fault.List.
func ParseMeasurements(data []byte) (body.Unit, body.Body, error) {
	var file measurementsFile
	faults := strictjson.Decode(data, &file)
	unit := body.Unit(file.Unit)
	var later fault.List
	if file.Measurements == nil {
		later = append(later, fault.Fault{Code: fault.Missing, Field: "/measurements",
			Accepted: "required: an object of measurements"})
	}
	person, more := drafting.NewBody(unit, file.Measurements)
	if faults = strictjson.Merge(faults, append(later, more...)); len(faults) > 0 {
		return "", body.Body{}, faults
	}
	return unit, person, nil
}

// ReadMeasurements returns the unit and what measurements can be read, mm, of
// an order file or a file of measurements, whatever else is wrong with it. The
// unit is "" if it can't be read.
func ReadMeasurements(data []byte) (body.Unit, body.Measures) {
	var file measurementsFile
	_ = strictjson.Decode(data, &file) // whoever reads the file for its content reports its faults
	unit := body.Unit(file.Unit)
	if !slices.Contains(body.OrderUnits(), unit) {
		return "", nil
	}
	given := unit.Measures(file.Measurements)
	for name := range given {
		if _, known := body.Lookup(name); !known {
			delete(given, name)
		}
	}
	return unit, given
}
