package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// misledShare is the share of front lengths taken wrong: the tape follows the
// bust and starts at a neck point that is a guess (our judgement).
const misledShare = 0.02

// bustFinding asks about the front length if the length over the bust and the
// girths round it contradict each other. Each alone may be any woman's; the
// model, which sees few front lengths, does not miss one. The odds are those of
// a length that is off by anything, against one off by chance.
func (a *Assessor) bustFinding(s *search, given body.Measures) (Finding, bool) {
	for _, n := range []body.Name{body.FrontWaistLength, body.NapeToWaist, body.NeckBaseGirth, body.BustGirth} {
		if _, ok := given[n]; !ok {
			return Finding{}, false
		}
	}
	b, faults := body.New(given, nil)
	if len(faults) > 0 {
		return Finding{}, false
	}
	byGirths := b.BustByGirths()
	length, off := given[body.FrontWaistLength], b.BustSurplus().Value-byGirths.Value
	z := off / byGirths.Spread
	chance := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / byGirths.Spread
	slip := math.Exp(slipDensity(off/length)) / length
	f := Finding{
		Field: body.Field(body.FrontWaistLength), Name: body.FrontWaistLength, Given: length, Expected: length - off,
		Low: length - off - 1.96*byGirths.Spread, High: length - off + 1.96*byGirths.Spread,
		Explanation: Slip, Odds: misledShare * slip / chance,
	}
	for _, n := range []body.Name{body.NapeToWaist, body.BustGirth, body.OverBustGirth, body.UnderBustGirth,
		body.ChestWidth} {
		if _, ok := given[n]; ok {
			f.Related = append(f.Related, body.Field(n))
		}
	}
	f.Level = s.level(f.Odds, false)
	f.Question = s.ask(f, given)
	return f, f.Odds >= a.levels.Note
}

// withBust adds the finding on the bust, unless the front length is in question
// anyway.
func (a *Assessor) withBust(s *search, list []Finding, given body.Measures) []Finding {
	f, found := a.bustFinding(s, given)
	if !found || slices.ContainsFunc(list, func(k Finding) bool { return k.Name == f.Name || k.Other == f.Name }) {
		return list
	}
	return append(list, f)
}
