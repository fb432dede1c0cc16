package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// suspect is a number, or the whole set, that the search has found.
type suspect struct {
	claim claim
	odds  float64 // of all claims against it; not a logarithm
	index int     // of its measure in the model, -1 for the set
	other int     // of an exchange: the other's, else -1
}

// Check holds a set against the model. Measures are in mm; unit is what the
// order was written in, in which digits were typed and questions are asked.
// Numbers that the model lacks, or that no simple mistake makes of a body's, are
// left to the limits of package body, which refuse them.
func (c *Checker) Check(unit body.Unit, given body.Measures) Report {
	entries := c.entries(given)
	if len(entries) == 0 {
		return Report{}
	}
	s := c.weigh(unit, entries)
	found, odds := s.worst()
	r := Report{Distance: s.view.Distance(), Odds: odds}
	var suspects []suspect
	// One mistake after another: the worst is undone before the next is sought.
	for odds >= c.levels.Note && len(suspects) <= len(given) {
		suspects = join(suspects, found)
		if entries = s.undo(found); len(entries) == 0 {
			break
		}
		s = c.weigh(unit, entries)
		found, odds = s.worst()
	}
	if all := s.unusual(); len(entries) > 0 && all.odds >= c.levels.Note {
		suspects = append(suspects, all)
	}
	r.Group, _ = s.view.Group()
	r.Findings = s.findings(given, suspects)
	return r
}

// join adds a suspect. One that was found before, and whose number is no better
// for being put right, is to be measured again.
func join(suspects []suspect, found suspect) []suspect {
	for i := range suspects {
		if earlier := &suspects[i]; found.index >= 0 && earlier.index == found.index {
			earlier.claim = claim{kind: Slip, at: earlier.claim.at, other: -1}
			earlier.other = -1
			return suspects
		}
	}
	return append(suspects, found)
}

// farthest is how many times beyond the hard limits a number is still looked
// at: with the decimal point one place off and in the other unit it is 25.
const farthest = 30

// entries are what can be looked at of a set, in the model's order.
func (c *Checker) entries(given body.Measures) []entry {
	entries := make([]entry, 0, len(given))
	for i, m := range c.measures {
		if mm, ok := given[m.info.Name]; ok && mm >= m.info.Min/farthest && mm <= m.info.Max*farthest {
			entries = append(entries, entry{index: i, mm: mm, log: math.Log(mm)})
		}
	}
	return entries
}

// worst is what is the least likely to be right, and the odds that it isn't.
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

// unusual is the claim that numbers are wrong all over the set: it is likelier
// among sets with so many times the spread that bodies have.
func (s *search) unusual() suspect {
	const times = 2.5
	odds := prior(Unusual, 1) + s.view.Widened(times) - s.base
	return suspect{claim: claim{kind: Unusual, at: -1, other: -1, odds: odds}, odds: math.Exp(odds), index: -1, other: -1}
}

// undo is the set with a mistake undone: numbers put right, or taken out
// where nothing tells what they should be or they were put right before.
func (s *search) undo(found suspect) []entry {
	entries := slices.Clone(s.entries)
	switch at := found.claim.at; {
	case at < 0:
		for i := range entries {
			if s.measures[entries[i].index].info.Unit != body.Degree {
				entries[i].set(otherUnit(s.unit, entries[i].mm))
			}
		}
		// What is too small to be read in the other unit is nobody's.
		entries = slices.DeleteFunc(entries, func(e entry) bool { return e.mm <= 0 })
	case found.claim.mm == 0, entries[at].right:
		return slices.Delete(entries, at, at+1)
	default:
		if o := found.claim.other; o >= 0 {
			entries[o].set(s.entries[at].mm)
			entries[o].right = true
		}
		entries[at].set(found.claim.mm)
		entries[at].right = true
	}
	return entries
}
