package plausible

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// suspect is a number, or all of them, that the search has found.
type suspect struct {
	claim claim
	odds  float64 // of all claims against it; not a logarithm
	index int     // of its measure in the model, -1 for the set
	other int     // of an exchange: the other's
}

// Check holds a set against the model. Measures are in mm; unit is what the
// order was written in, in which digits were typed and questions are asked.
// Numbers that no model knows, that are no numbers, or not above 0 are left to
// the limits of package body, which refuse them.
func (c *Checker) Check(unit body.Unit, given body.Measures) Report {
	entries := c.entries(given)
	if len(entries) == 0 {
		return Report{}
	}
	s := c.weigh(unit, entries)
	r := Report{Distance: s.view.Distance()}
	var suspects []suspect
	for range len(entries) {
		found, ok := s.worst()
		if !ok {
			break
		}
		suspects = append(suspects, found)
		if entries = s.undo(found); len(entries) == 0 {
			break
		}
		s = c.weigh(unit, entries)
	}
	r.Group, _ = s.view.Group()
	r.Findings = s.findings(given, suspects)
	return r
}

// entries are what can be looked at of a set, in the model's order.
func (c *Checker) entries(given body.Measures) []entry {
	entries := make([]entry, 0, len(given))
	for i, m := range c.measures {
		if mm, ok := given[m.info.Name]; ok && mm > 0 && !math.IsInf(mm, 1) {
			entries = append(entries, entry{index: i, given: mm, mm: mm, log: math.Log(mm)})
		}
	}
	return entries
}

// worst is what is the least likely to be right, if it is worth a note.
func (s *search) worst() (suspect, bool) {
	worst, odds := -1, s.set.odds
	for i, f := range s.fields {
		if f.odds > odds {
			worst, odds = i, f.odds
		}
	}
	if !(odds >= s.levels.Note) {
		return suspect{}, false
	}
	if worst < 0 {
		return suspect{claim: s.set.best, odds: odds, index: -1, other: -1}, true
	}
	found := suspect{claim: s.fields[worst].best, odds: odds, index: s.entries[worst].index, other: -1}
	if o := found.claim.other; o >= 0 {
		found.other = s.entries[o].index
	}
	return found, true
}

// undo is the set with a mistake undone: numbers put right, or taken out
// where nothing tells what they should be or they were put right before.
func (s *search) undo(found suspect) []entry {
	entries := slices.Clone(s.entries)
	set := func(at int, mm float64) { entries[at].mm, entries[at].log = mm, math.Log(mm) }
	switch at := found.claim.at; {
	case at < 0:
		for i, e := range entries {
			if s.measures[e.index].info.Unit != body.Degree {
				set(i, s.otherUnit(e.mm))
			}
		}
	case found.claim.mm == 0, entries[at].mm != entries[at].given:
		entries = slices.Delete(entries, at, at+1)
	default:
		if found.claim.other >= 0 {
			set(found.claim.other, entries[at].mm)
		}
		set(at, found.claim.mm)
	}
	return entries
}

// otherUnit is a length that was written in the unit's place but meant in the
// other of inch and centimetre.
func (s *search) otherUnit(mm float64) float64 {
	if s.unit == body.Inch {
		return s.unit.MM(rounded(s.unit.From(mm) / 2.54))
	}
	return s.unit.MM(rounded(s.unit.From(mm) * 2.54))
}
