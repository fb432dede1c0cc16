package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// suspect is a number, or the whole set, that is likely to be wrong.
type suspect struct {
	claim claim
	odds  float64 // of all claims against it together; not a logarithm
	index int     // of the measure in the model, -1 for the set
	other int     // index of the measure it was exchanged with, or -1
}

// Assess assesses measurements, in mm, of an order whose lengths were written in
// unit: mistakes in digits were made in it, and questions use it. Assess ignores
// measurements that the model lacks, and numbers so far outside the hard limits
// of package body that no simple mistake explains them.
func (a *Assessor) Assess(unit body.Unit, given body.Measures) Assessment {
	entries := a.entries(given)
	if len(entries) == 0 {
		return Assessment{}
	}
	s := a.weigh(unit, entries)
	found, odds := s.worst()
	result := Assessment{Distance: s.view.Distance(), Odds: odds}
	var suspects []suspect
	// Undo the worst mistake, then look for the next.
	for odds >= a.levels.Note && len(suspects) <= len(given) {
		suspects = appendSuspect(suspects, found)
		if entries = s.undo(found); len(entries) == 0 {
			break
		}
		s = a.weigh(unit, entries)
		found, odds = s.worst()
	}
	if all := s.unusual(); len(entries) > 0 && all.odds >= a.levels.Note {
		suspects = append(suspects, all)
	}
	result.Group, _ = s.view.Group()
	result.Findings = a.withBust(s, s.findings(given, suspects), given)
	return result
}

// appendSuspect appends a suspect. If its number was corrected before and is
// suspect again, no correction helps, and it must be measured again.
func appendSuspect(suspects []suspect, found suspect) []suspect {
	for i := range suspects {
		if earlier := &suspects[i]; found.index >= 0 && earlier.index == found.index {
			earlier.claim = claim{kind: Slip, at: earlier.claim.at, other: -1}
			earlier.other = -1
			return suspects
		}
	}
	return append(suspects, found)
}

// maxFactor is the largest factor beyond a hard limit at which Assess still
// considers a number. A misplaced decimal point in the other unit makes 25.4.
const maxFactor = 30

// entries returns the numbers to consider, in the model's order.
func (a *Assessor) entries(given body.Measures) []entry {
	entries := make([]entry, 0, len(given))
	for i, m := range a.measures {
		if mm, ok := given[m.info.Name]; ok && mm >= m.info.Min/maxFactor && mm <= m.info.Max*maxFactor {
			entries = append(entries, entry{index: i, mm: mm, log: math.Log(mm)})
		}
	}
	return entries
}

// worst returns the suspect most likely to be wrong, and its odds.
func (s *search) worst() (suspect, float64) {
	worst, odds := -1, s.set.odds
	for i, f := range s.fields {
		if f.odds > odds {
			worst, odds = i, f.odds
		}
	}
	if worst < 0 {
		return suspect{claim: s.set.best, odds: odds, index: -1, other: -1}, odds
	}
	found := suspect{claim: s.fields[worst].best, odds: odds, index: s.entries[worst].index, other: -1}
	if o := found.claim.other; o >= 0 {
		found.other = s.entries[o].index
	}
	return found, odds
}

// unusual returns the claim that numbers all over the set are wrong, which makes
// the set as likely as one from bodies with 2.5 times the spread.
func (s *search) unusual() suspect {
	odds := prior(Unusual, 1) + s.view.DensityWidened(2.5) - s.base
	return suspect{
		claim: claim{kind: Unusual, at: -1, other: -1, odds: odds}, odds: math.Exp(odds), index: -1, other: -1,
	}
}

// undo returns the entries with a mistake undone. It corrects numbers, or removes
// those for which there is no correction or that were corrected before.
func (s *search) undo(found suspect) []entry {
	entries := slices.Clone(s.entries)
	switch at := found.claim.at; {
	case at < 0:
		for i := range entries {
			if s.measures[entries[i].index].info.Unit != body.Degree {
				entries[i].set(inOtherUnit(s.unit, entries[i].mm))
			}
		}
		// Numbers too small for the other unit are rounded to 0.
		entries = slices.DeleteFunc(entries, func(e entry) bool { return e.mm <= 0 })
	case found.claim.mm == 0, entries[at].corrected:
		return slices.Delete(entries, at, at+1)
	default:
		if o := found.claim.other; o >= 0 {
			entries[o].set(s.entries[at].mm)
			entries[o].corrected = true
		}
		entries[at].set(found.claim.mm)
		entries[at].corrected = true
	}
	return entries
}
