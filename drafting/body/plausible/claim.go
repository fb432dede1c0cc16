package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// How many numbers in a thousand are wrong in each way: our judgement of what
// people with a tape and a keyboard do, no count. It matters little: a number
// in inches is found by its likelihood, whatever is believed beforehand. The
// last two are of sets: all in the other unit, and wrong all over.
var perMille = map[Explanation]float64{
	Slip: 1, OtherUnit: 0.4, Exchanged: 0.3, DigitsSwapped: 0.25, LeadingDigit: 0.15, TenOff: 0.25,
	Doubled: 0.1, Halved: 0.1, DecimalPoint: 0.1, AllOtherUnit: 5, Unusual: 0.3,
}

// prior is the logarithm of the odds of one mistake of a kind, of which so many
// could be made with the number.
func prior(kind Explanation, of float64) float64 { return math.Log(perMille[kind] / 1000 / of) }

// inch is the logarithm of the centimetres in an inch.
var inch = math.Log(2.54)

// A slip may be of any size, small ones more often: the logarithm of given
// over true is spread as Cauchy's distribution with this half-width.
const slipWidth = 0.12

func slipDensity(deviation float64) float64 {
	d := deviation / slipWidth
	return -math.Log(math.Pi * slipWidth * (1 + d*d))
}

// A claim is one mistake that may have made the set what it is.
type claim struct {
	kind  Explanation
	at    int     // position in the set
	other int     // of an exchange, else -1
	mm    float64 // what the number should have been, 0 where to measure again
	odds  float64 // logarithm, against no mistake
}

// entry is one number of the set.
type entry struct {
	index int     // of the measure in the model
	mm    float64 // as it stands now, mistakes undone
	log   float64
	right bool // put right, for itself
}

func (e *entry) set(mm float64) { e.mm, e.log = mm, math.Log(mm) }

func isGirth(n body.Name) bool {
	return slices.Contains([]body.Name{
		body.BustGirth, body.UnderBustGirth, body.WaistGirth, body.HighHipGirth, body.HipGirth, body.NeckGirth,
		body.NeckBaseGirth, body.HeadGirth, body.UpperArmGirth, body.ElbowGirth, body.WristGirth, body.HandGirth,
		body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth, body.FootGirth,
	}, n)
}

// corrections calls yield with every number that one mistake would have turned
// into this one: its kind, the number in mm, and of how many of the kind it is
// one. Numbers outside the hard limits are none.
func (c *Checker) corrections(unit body.Unit, e entry, yield func(kind Explanation, mm, of float64)) {
	m := c.measures[e.index]
	try := func(kind Explanation, mm, of float64) {
		if mm >= m.info.Min && mm <= m.info.Max {
			yield(kind, mm, of)
		}
	}
	if m.info.Unit == body.Degree {
		unit = body.Degree
	} else {
		try(OtherUnit, otherUnit(unit, e.mm), 1.1)
		try(OtherUnit, otherUnit(opposite(unit), e.mm), 11) // right as it was, where all others are in the other unit
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
	s := typed(v)
	swaps(s, func(v float64) { try(DigitsSwapped, unit.MM(v), 2) })
	leading(s, func(v, of float64) { try(LeadingDigit, unit.MM(v), of) })
}

// otherUnit is what a length of the unit is when its number was meant in the
// other of inch and centimetre, read to tenths of the unit.
func otherUnit(unit body.Unit, mm float64) float64 {
	meant := opposite(unit).MM(unit.From(mm))
	return unit.MM(rounded(unit.From(meant)))
}

func opposite(unit body.Unit) body.Unit {
	if unit == body.Inch {
		return body.Centimetre
	}
	return body.Inch
}

// rounded is to tenths, as a tape is read.
func rounded(v float64) float64 { return math.Round(v*10) / 10 }
