package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// perMille has the share of numbers, and for AllOtherUnit and Unusual of sets,
// with each mistake: our judgement of people with a tape and a keyboard, not a
// count. Its values matter little, because a number in inches is so unlikely
// that it is found whatever the share.
var perMille = map[Explanation]float64{
	Slip: 1, OtherUnit: 0.4, Exchanged: 0.3, DigitsSwapped: 0.25, LeadingDigit: 0.15, TenOff: 0.25,
	Doubled: 0.1, Halved: 0.1, DecimalPoint: 0.1, AllOtherUnit: 5, Unusual: 0.3,
}

// prior returns the logarithm of the odds of one mistake out of alternatives of
// its kind that the number allows.
func prior(kind Explanation, alternatives float64) float64 {
	return math.Log(perMille[kind] / 1000 / alternatives)
}

// slipWidth is the half-width of the Cauchy distribution of the logarithm of
// given over true: a slip may have any size, and small ones are more frequent.
const slipWidth = 0.12

func slipDensity(deviation float64) float64 {
	d := deviation / slipWidth
	return -math.Log(math.Pi * slipWidth * (1 + d*d))
}

// claim is one mistake that may explain the set.
type claim struct {
	kind  Explanation
	at    int     // position in the set, -1 for all
	other int     // position of the number it was exchanged with, or -1
	mm    float64 // the correct number, 0 if it must be measured again
	odds  float64 // logarithm of the odds against no mistake
}

// entry is one number of the set.
type entry struct {
	index     int     // of the measure in the model
	mm        float64 // with the mistakes found so far undone
	log       float64 // of mm
	corrected bool    // on its own, not with the whole set
}

func (e *entry) set(mm float64) { e.mm, e.log = mm, math.Log(mm) }

func isGirth(n body.Name) bool {
	return slices.Contains([]body.Name{
		body.BustGirth, body.OverBustGirth, body.UnderBustGirth, body.WaistGirth, body.HighHipGirth, body.HipGirth,
		body.NeckGirth,
		body.NeckBaseGirth, body.HeadGirth, body.UpperArmGirth, body.ElbowGirth, body.WristGirth, body.HandGirth,
		body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth, body.FootGirth,
	}, n)
}

// corrections calls yield with every number inside the hard limits that a single
// mistake turns into e: the kind of mistake, the number in mm, and how many
// alternatives there are of the kind.
func (a *Assessor) corrections(unit body.Unit, e entry, yield func(kind Explanation, mm, alternatives float64)) {
	m := a.measures[e.index]
	try := func(kind Explanation, mm, alternatives float64) {
		if mm >= m.info.Min && mm <= m.info.Max {
			yield(kind, mm, alternatives)
		}
	}
	if m.info.Unit == body.Degree {
		unit = body.Degree
	} else {
		try(OtherUnit, inOtherUnit(unit, e.mm), 1.1)
		try(OtherUnit, inOtherUnit(opposite(unit), e.mm), 11) // the only right one if all others are in the other unit
	}
	v := unit.From(e.mm)
	if m.girth {
		try(Doubled, e.mm/2, 1)
		try(Halved, e.mm*2, 1)
	}
	try(DecimalPoint, e.mm/10, 2)
	try(DecimalPoint, e.mm*10, 2)
	try(TenOff, unit.MM(v-10), 2)
	try(TenOff, unit.MM(v+10), 2)
	digits := formatTyped(v)
	swapDigits(digits, func(v float64) { try(DigitsSwapped, unit.MM(v), 2) })
	changeLeading(digits, func(v, alternatives float64) { try(LeadingDigit, unit.MM(v), alternatives) })
}

// inOtherUnit returns the length whose number, read as one in unit, gives mm
// although it was in the other of inch and centimetre. It is rounded to tenths
// of the unit.
func inOtherUnit(unit body.Unit, mm float64) float64 {
	meant := opposite(unit).MM(unit.From(mm))
	return unit.MM(roundTenths(unit.From(meant)))
}

func opposite(unit body.Unit) body.Unit {
	if unit == body.Inch {
		return body.Centimetre
	}
	return body.Inch
}

// roundTenths rounds to the precision of a tape.
func roundTenths(v float64) float64 { return math.Round(v*10) / 10 }
