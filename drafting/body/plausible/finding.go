package plausible

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// findings says what was found; s is the search of the set with all mistakes
// undone.
func (s *search) findings(given body.Measures, suspects []suspect) []Finding {
	var list []Finding
	for _, found := range suspects {
		f := Finding{Explanation: found.claim.kind, Odds: found.odds}
		switch {
		case found.index < 0:
			s.describeSet(&f, given)
		case same(found.claim.mm, given[s.name(found.index)]):
			continue // right all along: it was the others that were in another unit
		default:
			s.describe(&f, given, found)
		}
		f.Question = s.ask(f, given)
		list = append(list, f)
	}
	slices.SortStableFunc(list, func(a, b Finding) int { return cmp.Compare(b.Odds, a.Odds) })
	return list
}

func (s *search) name(index int) body.Name { return s.measures[index].info.Name }

// same tells whether two lengths differ by less than a tenth of an inch and what
// reading a tape loses.
func same(a, b float64) bool { return math.Abs(a-b) <= 3 }

func (s *search) describeSet(f *Finding, given body.Measures) {
	f.Field, f.Level = setField, s.level(f.Odds, false)
	if f.Explanation != AllOtherUnit {
		return
	}
	f.Corrected = make(body.Measures, len(s.entries))
	for _, e := range s.entries {
		f.Corrected[s.name(e.index)] = e.mm
	}
	for n, mm := range given {
		if !within(n, mm) {
			f.Level = Refuse
		}
	}
}

func (s *search) describe(f *Finding, given body.Measures, found suspect) {
	f.Name = s.name(found.index)
	f.Field, f.Given = body.Field(f.Name), given[f.Name]
	expected := s.expect(found.index)
	info := s.measures[found.index].info
	limited := func(log float64) float64 { return min(max(math.Exp(log), info.Min), info.Max) } // none lies beyond
	f.Expected, f.Low, f.High = limited(expected.Mean), limited(expected.Mean-1.96*expected.SD), limited(expected.Mean+1.96*expected.SD)
	if found.claim.mm > 0 {
		f.Corrected = body.Measures{f.Name: found.claim.mm}
	}
	outside := !within(f.Name, f.Given)
	if found.other >= 0 {
		f.Other = s.name(found.other)
		f.Related = []string{body.Field(f.Other)}
		f.Corrected[f.Other] = f.Given
		outside = outside || !within(f.Other, given[f.Other])
	}
	f.Level = s.level(f.Odds, outside)
}

// expect is what a measure should be by the set with mistakes undone.
func (s *search) expect(index int) population.Estimate {
	for i, e := range s.entries {
		if e.index == index {
			return s.view.Expect(i)
		}
	}
	return s.view.Predict(index)
}

func within(n body.Name, mm float64) bool {
	info, ok := body.Lookup(n)
	return !ok || mm >= info.Min && mm <= info.Max
}

// level is that of odds, which are at least a note's.
func (s *search) level(odds float64, outside bool) Level {
	switch {
	case outside || odds >= s.levels.Refuse:
		return Refuse
	case odds >= s.levels.Confirm:
		return Confirm
	default:
		return Note
	}
}
