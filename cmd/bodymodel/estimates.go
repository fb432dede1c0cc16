package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// A proportion is what a handbook's chart makes of a bust or a height.
type proportion struct {
	name   body.Name
	rule   string
	value  func(bust, height float64) float64
	byBust bool // whether bodies are in proportion by bust, else by height
}

// step is a size of the handbook's chart from its size 12: 40 mm of bust.
func step(bust float64) float64 { return (bust - chart[body.BustGirth]) / 40 }

// girths go with the bust and lengths with the height, by the handbook's chart
// and its steps (see chart; size steps from memory too). Those without a rule
// are in no chart that we have.
var proportions = []proportion{
	{body.WaistGirth, "bust - 160 (EN 13402-3)", func(b, _ float64) float64 { return b - 160 }, true},
	{body.HipGirth, "bust + 60", func(b, _ float64) float64 { return b + 60 }, true},
	{body.NeckBaseGirth, "370 and 10 a size", func(b, _ float64) float64 { return 370 + 10*step(b) }, true},
	{body.ShoulderLength, "122.5 and 2.5 a size", func(b, _ float64) float64 { return 122.5 + 2.5*step(b) }, true},
	{body.BackWidthArmpitLevel, "344 and 10 a size, over 0.965", func(b, _ float64) float64 { return (344 + 10*step(b)) / 0.965 }, true},
	{body.UpperArmGirth, "284 and 16 a size", func(b, _ float64) float64 { return 284 + 16*step(b) }, true},
	{body.WristGirth, "160", func(_, _ float64) float64 { return 160 }, true},
	{body.NapeToWaist, "410 and 5 a size", func(b, _ float64) float64 { return 410 + 5*step(b) }, false},
	{body.ArmLength, "585 at height 1640", func(_, h float64) float64 { return 585 * h / 1640 }, false},
	{body.WaistToHip, "0.125 height", func(_, h float64) float64 { return 0.125 * h }, false},
	{body.WaistToKnee, "0.357 height", func(_, h float64) float64 { return 0.357 * h }, false},
	{body.WaistToFloor, "0.634 height", func(_, h float64) float64 { return 0.634 * h }, false},
	{body.NeckGirth, "", nil, true}, {body.HeadGirth, "", nil, false}, {body.ThighGirth, "", nil, true},
	{body.KneeGirth, "", nil, true}, {body.CalfGirth, "", nil, true}, {body.AnkleGirth, "", nil, false},
	{body.NapeToWrist, "", nil, false}, {body.InsideLeg, "", nil, false}, {body.TotalCrotchLength, "", nil, false},
	{body.NapeHeight, "", nil, false}, {body.ArmpitHeight, "", nil, false}, {body.HipHeight, "", nil, false}, {body.KneeHeight, "", nil, false},
}

// printEstimates compares what the model expects of a measurement, from the
// others of the torso's form, with the handbook's proportional rule and with
// the best such rule that the fitted half allows: a constant share of the bust
// or the height.
func printEstimates(w io.Writer, surveys []survey) error {
	fmt.Fprint(w, "\nESTIMATES FROM WHAT THE TORSO BLOCK NEEDS, AND HEIGHT\n\n"+
		"Root mean square error in mm on the people held out. \"Share\" is the best constant share of bust or height;\n"+
		"in brackets the error that is left once a rule's mean difference from the survey, which may be one of definition, is taken off.\n")
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

// errorSum gathers the differences of estimates from what was measured.
type errorSum struct{ n, sum, square float64 }

func (e *errorSum) add(d float64) { e.n++; e.sum += d; e.square += d * d }

func (e errorSum) rms() float64 { return math.Sqrt(e.square / e.n) }

// around is the error without the mean difference.
func (e errorSum) around() float64 {
	return math.Sqrt(max(e.square/e.n-e.sum*e.sum/e.n/e.n, 0))
}

func (e errorSum) String() string { return fmt.Sprintf("%.1f (%.1f)", e.rms(), e.around()) }

// errors are those of the model, of the constant share and of the handbook.
func (p proportion) errors(s survey) (of [3]errorSum, err error) {
	by := body.Height
	if p.byBust {
		by = body.BustGirth
	}
	share, people := 0.0, fitted(s.people)
	for _, person := range people {
		share += measured(person, p.name) / person[by] / float64(len(people))
	}
	for _, person := range heldOut(s.people) {
		taken := forms[2].take(person)
		delete(taken, p.name)
		estimate, err := expect(taken, p.name)
		if err != nil {
			return of, err
		}
		truth := measured(person, p.name)
		of[0].add(estimate - truth)
		of[1].add(share*person[by] - truth)
		if p.value != nil {
			of[2].add(p.value(person[body.BustGirth], person[body.Height]) - truth)
		}
	}
	return of, nil
}

// expect is what the model that the program carries expects of a measurement.
func expect(given body.Measures, n body.Name) (float64, error) {
	model := population.People()
	at := model.Index(string(n))
	if at < 0 {
		return 0, fmt.Errorf("the model lacks %s", n)
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

// spreads are how far each measurement of a form is spread, mm, all others
// known: the root mean square over the people held out.
func spreads(surveys []survey, f form) map[body.Name]float64 {
	model := population.People()
	squares, people := map[body.Name]float64{}, 0.0
	for _, s := range surveys {
		for _, person := range heldOut(s.people) {
			taken := f.take(person)
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
