package body

import (
	"math"
	"slices"

	"tapeline/drafting/body/population"
)

// ModelSource is the source of an estimate that no rule of the trade gives.
const ModelSource = "expected by all measurements given (model of bodies fitted to ANSUR II)"

// modelled tells whether the model of bodies knows a measurement from people,
// and so may stand in for one that was not taken.
func modelled(n Name) bool {
	return slices.ContainsFunc(population.People().Measures, func(m population.Measure) bool {
		return m.Name == string(n) && m.Surveyed
	})
}

// expect asks the model of bodies how far each estimate may be off, and for
// those of uses that no rule gave. The trade's rules come first, though the
// model is nearer to the survey's people: that survey has its waist at the
// navel and its back at the armpits, and the blocks are made for the rules.
func (b Body) expect(uses []Name) {
	model := population.People()
	var given []int
	var logs []float64
	for i, m := range model.Measures {
		if n := Name(m.Name); b.Given(n) {
			given, logs = append(given, i), append(logs, math.Log(b.Value(n)))
		}
	}
	if len(given) == 0 {
		return
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
}
