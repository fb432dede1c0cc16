package plausible

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// findings returns the findings about suspects, most likely to be wrong first. In
// s all mistakes are undone.
func (s *search) findings(given body.Measures, suspects []suspect) []Finding {
	var list []Finding
	for _, found := range suspects {
		f := Finding{Explanation: found.claim.kind, Odds: found.odds}
		switch {
		case found.index < 0:
			s.describeSet(&f, given)
		case same(found.claim.mm, given[s.name(found.index)]):
			continue // was right: the others were in the other unit
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

// same reports whether two lengths differ by at most a tenth of an inch
// and rounding.
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
		if !insideLimits(n, mm) {
			f.Level = Refuse
		}
	}
}

func (s *search) describe(f *Finding, given body.Measures, found suspect) {
	f.Name = s.name(found.index)
	f.Field, f.Given = body.Field(f.Name), given[f.Name]
	expected := s.expect(found.index)
	info := s.measures[found.index].info
	clamp := func(log float64) float64 { return min(max(math.Exp(log), info.Min), info.Max) }
	spread := 1.96 * expected.SD
	f.Expected = clamp(expected.Mean)
	f.Low, f.High = clamp(expected.Mean-spread), clamp(expected.Mean+spread)
	if found.claim.mm > 0 {
		f.Corrected = body.Measures{f.Name: found.claim.mm}
	}
	outside := !insideLimits(f.Name, f.Given)
	if found.other >= 0 {
		f.Other = s.name(found.other)
		f.Related = []string{body.Field(f.Other)}
		f.Corrected[f.Other] = f.Given
		outside = outside || !insideLimits(f.Other, given[f.Other])
	}
	f.Level = s.level(f.Odds, outside)
}

// expect returns the estimate of a measure by the others, mistakes undone.
func (s *search) expect(index int) population.Estimate {
	for i, e := range s.entries {
		if e.index == index {
			return s.view.Expect(i)
		}
	}
	return s.view.Predict(index)
}

func insideLimits(n body.Name, mm float64) bool {
	info, ok := body.Lookup(n)
	return !ok || mm >= info.Min && mm <= info.Max
}

// level returns the level of odds that reach at least that of a note.
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
