package body

import (
	"math"
	"strconv"
)

// Unit is what a measurement is counted in.
type Unit string

const (
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Inch       Unit = "inch" // 25.4 mm exactly, by the agreement of 1959
	Degree     Unit = "degree"
)

// OrderUnits are the units in which an order may give its lengths.
func OrderUnits() []Unit { return []Unit{Centimetre, Inch} }

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

// nanometre is the grain, in mm, to which a converted length is rounded: the
// nearest float64 to a decimal of that grain is always the same number, so
// that 30.48 cm, 12 inch and 304.8 mm are equal and not one bit apart.
const nanometre = 1e-6

// MM is v of the unit in mm; degrees stay degrees.
func (u Unit) MM(v float64) float64 { return round(v*u.factor(), nanometre) }

// From is the number of units in a length of mm.
func (u Unit) From(mm float64) float64 { return round(mm/u.factor(), nanometre) }

// Format writes a length of mm in the unit, with as many decimals as it has.
func (u Unit) Format(mm float64) string {
	return strconv.FormatFloat(u.From(mm)+0, 'f', -1, 64) + " " + string(u) // +0: never -0
}

// FormatRange writes the range from least to most mm in the unit, rounded to
// hundredths inward, so that every length it names is within.
func (u Unit) FormatRange(least, most float64) string {
	low := math.Ceil(u.From(least)*100-nanometre)/100 + 0 // never -0
	high := math.Floor(u.From(most)*100+nanometre) / 100
	return strconv.FormatFloat(low, 'f', -1, 64) + " to " + strconv.FormatFloat(high, 'f', -1, 64) + " " + string(u)
}

// for a measurement counted in degrees whatever the unit of lengths.
func (u Unit) of(info Info) Unit {
	if info.Unit == Degree {
		return Degree
	}
	return u
}

// round is v to the nearest multiple of grain, itself a decimal fraction.
func round(v, grain float64) float64 {
	n := math.Round(1 / grain)
	if math.Abs(v) > 1e9 { // nothing is lost here that was ever measured
		return v
	}
	return math.Round(v*n) / n
}
