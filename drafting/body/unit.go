package body

import (
	"fmt"
	"math"
	"strconv"
)

// Unit is a unit of measurement.
type Unit string

// The units. An inch is exactly 25.4 mm by the agreement of 1959.
const (
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Inch       Unit = "inch"
	Degree     Unit = "degree"
)

// OrderUnits returns the units in which an order may give lengths.
func OrderUnits() []Unit { return []Unit{Centimetre, Inch} }

// Of returns the unit of the measurement n where lengths are in u: Degree for
// an angle, otherwise u.
func (u Unit) Of(n Name) Unit {
	if info, ok := Lookup(n); ok && info.Unit == Degree {
		return Degree
	}
	return u
}

// Measures converts values given in u, with angles in degrees, to Measures. It
// validates neither names nor values: New does.
func (u Unit) Measures(values map[string]float64) Measures {
	m := make(Measures, len(values))
	for name, v := range values {
		n := Name(name)
		m[n] = u.Of(n).MM(v)
	}
	return m
}

// Values converts measures to values in u, with angles in degrees.
func (u Unit) Values(m Measures) map[string]float64 {
	values := make(map[string]float64, len(m))
	for n, mm := range m {
		values[string(n)] = u.Of(n).From(mm)
	}
	return values
}

func (u Unit) factor() float64 {
	switch u {
	case Centimetre:
		return 10
	case Inch:
		return 25.4
	default:
		return 1
	}
}

// nanometre is the precision, in mm, to which converted lengths are rounded.
// The float64 nearest to a decimal of that precision is unique, so 30.48 cm,
// 12 inch and 304.8 mm are equal to the last bit.
const nanometre = 1e-6

// MM converts v from u to mm. It returns degrees unchanged.
func (u Unit) MM(v float64) float64 { return round(v*u.factor(), nanometre) }

// From converts a length in mm to u. It returns degrees unchanged.
func (u Unit) From(mm float64) float64 { return round(mm/u.factor(), nanometre) }

// Format formats a length in mm as a number in u and the unit's name.
func (u Unit) Format(mm float64) string {
	return formatNumber(u.From(mm)) + " " + string(u)
}

// Tape formats mm as a tape measure in u reads it, without the unit: inches in whole
// ones and sixteenths (common practice), "40 1/2", other units to a tenth, "102.9".
func (u Unit) Tape(mm float64) string {
	if u != Inch {
		return strconv.FormatFloat(u.From(mm)+0, 'f', 1, 64)
	}
	parts, sign := int(math.Round(math.Abs(u.From(mm))*16)), ""
	if mm < 0 && parts > 0 {
		sign = "-"
	}
	whole, rest, of := parts/16, parts%16, 16
	for rest > 0 && rest%2 == 0 {
		rest, of = rest/2, of/2
	}
	switch {
	case rest == 0:
		return fmt.Sprintf("%s%d", sign, whole)
	case whole == 0:
		return fmt.Sprintf("%s%d/%d", sign, rest, of)
	}
	return fmt.Sprintf("%s%d %d/%d", sign, whole, rest, of)
}

// Said says a length in mm with its unit as a cutter does: inches as a tape reads them,
// otherwise to a tenth of a millimetre: "3 cm", "1 1/4 inch".
func (u Unit) Said(mm float64) string {
	if u == Inch {
		return u.Tape(mm) + " " + string(u)
	}
	return formatNumber(round(u.From(mm), 0.1/u.factor())) + " " + string(u)
}

// FormatRange formats the range from low to high mm in u. It rounds both limits
// inward to hundredths, so that every length shown is in the range.
func (u Unit) FormatRange(low, high float64) string {
	from := math.Ceil(u.From(low)*100-nanometre) / 100
	to := math.Floor(u.From(high)*100+nanometre) / 100
	return formatNumber(from) + " to " + formatNumber(to) + " " + string(u)
}

func formatNumber(v float64) string {
	return strconv.FormatFloat(v+0, 'f', -1, 64) // +0 turns -0 into 0
}

// round rounds v to the nearest multiple of precision, a decimal fraction.
// Values beyond 1e9 mm are no measurements and stay as they are.
func round(v, precision float64) float64 {
	n := math.Round(1 / precision)
	if math.Abs(v) > 1e9 {
		return v
	}
	return math.Round(v*n) / n
}
