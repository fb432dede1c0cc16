package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// How many sets in a thousand have each mistake: our judgement of what people
// with a tape and a keyboard do, no count. It matters little: a number in
// inches is found by its likelihood, whatever is believed beforehand.
var perMille = map[Explanation]float64{
	Slip: 25, OtherUnit: 10, AllOtherUnit: 5, Exchanged: 5, DigitsSwapped: 6,
	LeadingDigit: 4, TenOff: 6, Doubled: 2, Halved: 3, DecimalPoint: 2,
}

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
	given float64 // as given: mm
	mm    float64 // as it stands now, mistakes undone
	log   float64
}

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
		inInch := unit.MM(rounded(unit.From(e.mm) * 2.54))
		inCentimetre := unit.MM(rounded(unit.From(e.mm) / 2.54))
		if unit == body.Inch {
			inInch, inCentimetre = inCentimetre, inInch
		}
		try(OtherUnit, inInch, 1.1)
		try(OtherUnit, inCentimetre, 11) // undoes the other, where all are in another unit but one
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
	leading(s, func(v float64) { try(LeadingDigit, unit.MM(v), 9) })
}

// rounded is to tenths, as a tape is read.
func rounded(v float64) float64 { return math.Round(v*10) / 10 }
