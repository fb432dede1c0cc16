package block

import (
	"math"

	"tapeline/drafting/body"
)

// An Exclusion is two words of different choices that contradict each other. The
// first word is not accepted beside the second.
type Exclusion struct {
	Choice, Word   string
	Beside, Chosen string
}

// Applies reports whether choices, with the block's defaults for those that are not
// given, contradict each other.
func (e Exclusion) Applies(s Spec, choices map[string]Value) bool {
	return s.word(e.Choice, choices) == e.Word && s.word(e.Beside, choices) == e.Chosen
}

// word returns the word of a choice, given or by default.
func (s Spec) word(name string, choices map[string]Value) string {
	if v, ok := choices[name]; ok {
		return v.Word
	}
	for _, c := range s.Choices {
		if c.Name == name {
			return c.Default.Word
		}
	}
	return ""
}

// FollowsBody reports whether the limits of the choice are narrower on some bodies.
func (c Choice) FollowsBody() bool { return c.limits != nil }

// Range returns the limits of the choice in a request, mm for a length: Min and Max,
// or narrower ones that the body, the fit, the other choices and the alterations set.
// Where the sides differ both accept every number within them.
func (c Choice) Range(r Request) (lo, hi float64) {
	lo, hi = c.Min, c.Max
	if c.limits == nil {
		return lo, hi
	}
	sides := []Request{r}
	if r.hasSides() {
		sides = []Request{r.side(r.Left), r.side(r.Right)}
	}
	for _, side := range sides {
		a, b := c.limits(side)
		lo, hi = math.Max(lo, a), math.Min(hi, b)
	}
	return lo, hi
}

// leastBelowWaist is the least length of a torso below the waist, mm, unless it ends
// there: the curves over the hip need it.
const leastBelowWaist = 60

// torsoLengths returns the limits of a torso's length from the nape: a torso that
// ends at the waist has a word for it.
func torsoLengths(r Request) (lo, hi float64) {
	waist := r.Body.Value(body.NapeToWaist) + math.Max(0, r.Alterations[alterRoundBack])
	return math.Ceil(waist) + leastBelowWaist, math.Inf(1)
}

// skirtLengths returns the limits of a skirt's length from the natural waist.
func skirtLengths(r Request) (lo, hi float64) {
	return math.Ceil(naturalHip(r.Body)) + minBelowHip, math.Inf(1)
}

// naturalHip returns the depth of the hip line below the natural waist as it is
// drawn, mm.
func naturalHip(b body.Body) float64 { return math.Max(b.Value(body.WaistToHip), minHipDepth) }

// leastOverHip is the least height of a lowered waist over the hip line, mm.
const leastOverHip = 70

// skirtWaists returns the limits of how far below the natural waist a skirt begins.
func skirtWaists(r Request) (lo, hi float64) {
	return 0, math.Floor(naturalHip(r.Body)) - leastOverHip
}

// trouserWaists returns those of trousers: the crotch needs its depth.
func trouserWaists(r Request) (lo, hi float64) {
	lo, hi = skirtWaists(r)
	ease, err := easeOf(r, trousersFits())
	if err != nil {
		return lo, hi
	}
	rise := r.Body.Value(body.BodyRise) + ease[string(body.BodyRise)] + r.Alterations[alterRise]
	return lo, math.Min(hi, math.Floor(rise)-minCrotchDepth)
}

// trouserLengths returns the limits of a leg's length from the crotch: it may reach
// maxBelowFloor below the floor, before it is lengthened or shortened.
func trouserLengths(r Request) (lo, hi float64) {
	lo = minInside - r.Alterations[alterLegLength]
	ease, err := easeOf(r, trousersFits())
	if err != nil {
		return lo, math.Inf(1)
	}
	return lo, math.Floor(trouserFloor(r.Body, ease, r.Alterations)) + maxBelowFloor
}

// trouserFloor returns the height of the trousers' crotch over the floor, mm. It hangs
// lower than the body's by the ease of the rise and by what sitting adds to it.
func trouserFloor(b body.Body, ease, altered map[string]float64) float64 {
	return b.Value(body.InsideLeg) - seated(ease) - altered[alterRise]
}
