package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// proportion is a handbook's rule for a measurement by bust or height.
type proportion struct {
	name   body.Name
	rule   string
	value  func(bust, height float64) float64 // nil if the handbook has no rule
	byBust bool                               // compare with a constant share of the bust, otherwise of the height
}

// sizesFrom12 returns the number of sizes from the chart's size 12, of 40 mm of bust.
func sizesFrom12(bust float64) float64 { return (bust - chart[body.BustGirth]) / 40 }

// proportions are the rules of the handbook's chart and its size steps (see
// chart; the steps are from memory too).
var proportions = []proportion{
	{body.WaistGirth, "bust - 160 (EN 13402-3)", func(b, _ float64) float64 { return b - 160 }, true},
	{body.HipGirth, "bust + 60", func(b, _ float64) float64 { return b + 60 }, true},
	{body.NeckBaseGirth, "370 and 10 a size", func(b, _ float64) float64 { return 370 + 10*sizesFrom12(b) }, true},
	{body.ShoulderLength, "122.5 and 2.5 a size", func(b, _ float64) float64 { return 122.5 + 2.5*sizesFrom12(b) }, true},
	{body.BackWidthArmpitLevel, "344 and 10 a size, over 0.965",
		func(b, _ float64) float64 { return (344 + 10*sizesFrom12(b)) / 0.965 }, true},
	{body.UpperArmGirth, "284 and 16 a size", func(b, _ float64) float64 { return 284 + 16*sizesFrom12(b) }, true},
	{body.WristGirth, "160", func(_, _ float64) float64 { return 160 }, true},
	{body.NapeToWaist, "410 and 5 a size", func(b, _ float64) float64 { return 410 + 5*sizesFrom12(b) }, false},
	{body.ArmLength, "585 at height 1640", func(_, h float64) float64 { return 585 * h / 1640 }, false},
	{body.WaistToHip, "0.125 height", func(_, h float64) float64 { return 0.125 * h }, false},
	{body.WaistToKnee, "0.357 height", func(_, h float64) float64 { return 0.357 * h }, false},
	{body.WaistToFloor, "0.634 height", func(_, h float64) float64 { return 0.634 * h }, false},
	{body.NeckGirth, "", nil, true}, {body.HeadGirth, "", nil, false}, {body.ThighGirth, "", nil, true},
	{body.KneeGirth, "", nil, true}, {body.CalfGirth, "", nil, true}, {body.AnkleGirth, "", nil, false},
	{body.NapeToWrist, "", nil, false}, {body.InsideLeg, "", nil, false}, {body.TotalCrotchLength, "", nil, false},
	{body.NapeHeight, "", nil, false}, {body.ArmpitHeight, "", nil, false}, {body.HipHeight, "", nil, false},
	{body.KneeHeight, "", nil, false},
}

// printEstimates compares the model's estimate of a measurement, by the others
// of the torso's form, with the handbook's rule and with a constant share of bust
// or height, the mean share in the fitted half.
func printEstimates(w io.Writer, surveys []survey) error {
	fmt.Fprint(w, "\nESTIMATES FROM THE MEASUREMENTS OF THE TORSO BLOCK AND HEIGHT\n\n"+
		"Root mean square error in mm on the people held out. \"Share\" is the mean share of bust or height.\n"+
		"In brackets, the error without the mean difference, which may come from a different definition.\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, s := range surveys {
		fmt.Fprintf(t, "%s\tmodel\tshare\thandbook\t\n", s.group)
		for _, p := range proportions {
			m, err := p.errors(s)
			if err != nil {
				return err
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t", p.name, m[0], m[1])
			if p.value != nil && s.group == women {
				fmt.Fprintf(t, "%s\t%s", m[2], p.rule)
			}
			fmt.Fprintln(t)
		}
	}
	return t.Flush()
}

// errorSum sums the differences of estimates from measurements.
type errorSum struct{ n, sum, square float64 }

func (e *errorSum) add(d float64) { e.n++; e.sum += d; e.square += d * d }

func (e errorSum) rms() float64 { return math.Sqrt(e.square / e.n) }

// deviation returns the error without the mean difference.
func (e errorSum) deviation() float64 {
	return math.Sqrt(max(e.square/e.n-e.sum*e.sum/e.n/e.n, 0))
}

func (e errorSum) String() string { return fmt.Sprintf("%.1f (%.1f)", e.rms(), e.deviation()) }

// errors returns the errors of the model, the constant share and the handbook.
func (p proportion) errors(s survey) (of [3]errorSum, err error) {
	by := body.Height
	if p.byBust {
		by = body.BustGirth
	}
	share, people := 0.0, fittedHalf(s.people)
	for _, person := range people {
		share += measurement(person, p.name) / person[by] / float64(len(people))
	}
	for _, person := range heldOutHalf(s.people) {
		taken := forms[2].fill(person)
		delete(taken, p.name)
		estimate, err := expect(taken, p.name)
		if err != nil {
			return of, err
		}
		truth := measurement(person, p.name)
		of[0].add(estimate - truth)
		of[1].add(share*person[by] - truth)
		if p.value != nil {
			of[2].add(p.value(person[body.BustGirth], person[body.Height]) - truth)
		}
	}
	return of, nil
}

// expect returns the embedded model's estimate of a measurement.
func expect(given body.Measures, n body.Name) (float64, error) {
	model := population.People()
	at := model.Index(string(n))
	if at < 0 {
		return 0, fmt.Errorf("no %s in the model", n)
	}
	return math.Exp(view(model, given).Predict(at).Mean), nil
}

func view(model *population.Model, given body.Measures) *population.View {
	var at []int
	var logs []float64
	for i, m := range model.Measures {
		if mm, ok := given[body.Name(m.Name)]; ok {
			at, logs = append(at, i), append(logs, math.Log(mm))
		}
	}
	return model.View(at, logs)
}

// spreads returns the standard deviation of each measurement of a form, in mm,
// given all others: the root mean square over the people held out.
func spreads(surveys []survey, f form) map[body.Name]float64 {
	model := population.People()
	squares, people := map[body.Name]float64{}, 0.0
	for _, s := range surveys {
		for _, person := range heldOutHalf(s.people) {
			taken := f.fill(person)
			v := view(model, taken)
			at := 0
			people++
			for _, m := range model.Measures {
				if mm, ok := taken[body.Name(m.Name)]; ok {
					sd := mm * v.Expect(at).SD
					squares[body.Name(m.Name)] += sd * sd
					at++
				}
			}
		}
	}
	for n := range squares {
		squares[n] = math.Sqrt(squares[n] / people)
	}
	return squares
}
