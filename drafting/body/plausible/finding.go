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
	for _, one := range suspects {
		if f, ok := s.finding(given, one); ok {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b Finding) int { return cmp.Compare(b.Odds, a.Odds) })
	return list
}

func (s *search) finding(given body.Measures, found suspect) (Finding, bool) {
	f := Finding{Explanation: found.claim.kind, Odds: found.odds}
	if found.index < 0 {
		f.Field, f.Corrected = "/measurements", body.Measures{}
		outside := false
		for _, e := range s.entries {
			info := s.measures[e.index].info
			f.Corrected[info.Name] = e.mm
			outside = outside || !within(info, e.given)
		}
		f.Level = s.level(f.Odds, outside)
		f.Question = s.ask(f, given)
		return f, f.Level != ""
	}
	info := s.measures[found.index].info
	f.Name, f.Field, f.Given = info.Name, body.Field(info.Name), given[info.Name]
	expected := s.expect(found.index)
	f.Expected = math.Exp(expected.Mean)
	f.Low, f.High = math.Exp(expected.Mean-1.96*expected.SD), math.Exp(expected.Mean+1.96*expected.SD)
	if found.claim.mm > 0 {
		f.Corrected = body.Measures{info.Name: found.claim.mm}
	}
	outside := !within(info, f.Given)
	if found.other >= 0 {
		other := s.measures[found.other].info
		f.Related = []string{body.Field(other.Name)}
		f.Corrected[other.Name] = f.Given
		outside = outside || !within(other, given[other.Name])
	}
	f.Level = s.level(f.Odds, outside)
	f.Question = s.ask(f, given)
	return f, f.Level != ""
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

func within(info body.Info, mm float64) bool { return mm >= info.Min && mm <= info.Max }

func (s *search) level(odds float64, outside bool) Level {
	switch {
	case outside || odds >= s.levels.Refuse:
		return Refuse
	case odds >= s.levels.Confirm:
		return Confirm
	case odds >= s.levels.Note:
		return Note
	}
	return ""
}
