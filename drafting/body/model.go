package body

import (
	"math"
	"slices"

	"tapeline/drafting/body/population"
)

// ModelSource is the Source of a Measure that the model of bodies estimated.
const ModelSource = "expected by all measurements given (model of bodies fitted to ANSUR II)"

// inModel reports whether the model of bodies can estimate a measurement: the
// model also covers measurements that were not taken on people.
func inModel(n Name) bool {
	return slices.ContainsFunc(population.People().Measures, func(m population.Measure) bool {
		return m.Name == string(n) && m.Surveyed
	})
}

// applyModel adds the spread of each estimate, and estimates of the
// measurements in uses that no rule gave, and returns the probability that the
// given ones are a woman's. The trade's rules come first although
// the model is nearer to the people of the survey: the survey takes the waist
// at the navel and the back at the armpits, and the blocks expect the rules.
func (b Body) applyModel(uses []Name) (woman float64) {
	model := population.People()
	var given []int
	var logs []float64
	for i, m := range model.Measures {
		if n := Name(m.Name); b.Given(n) {
			given, logs = append(given, i), append(logs, math.Log(b.Value(n)))
		}
	}
	if len(given) == 0 {
		return 0
	}
	view := model.View(given, logs)
	for i, m := range model.Measures {
		n := Name(m.Name)
		known, has := b.measures[n]
		switch {
		case has && known.Estimated:
			known.Spread = known.Value * view.Predict(i).SD
		case !has && m.Surveyed && slices.Contains(uses, n):
			info, _ := Lookup(n)
			expected := view.Predict(i)
			v := clamp(math.Exp(expected.Mean), info.Min, info.Max)
			known = Measure{Value: v, Spread: v * expected.SD, Estimated: true, Source: ModelSource}
		default:
			continue
		}
		b.measures[n] = known
	}
	return 1 - view.Probability("men")
}
