package main

import (
	"fmt"
	"io"
	"runtime"
	"sync"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/body/population"
)

// A form is which measurements are taken.
type form struct {
	title string
	names []body.Name // nil: all that the survey has
}

var (
	torso = []body.Name{
		body.Height, body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth, body.ShoulderLength,
		body.BackWidthArmpitLevel, body.NapeToWaist, body.WaistToHip, body.UpperArmGirth, body.WristGirth, body.ArmLength,
	}
	forms = []form{
		{"all that the survey measured", nil},
		{"a full form, tape alone", append([]body.Name{
			body.NeckGirth, body.HeadGirth, body.NapeToWrist, body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth,
			body.InsideLeg, body.OutsideLeg, body.TotalCrotchLength, body.WaistToKnee,
		}, torso...)},
		{"what the torso block needs, and height", torso},
	}
)

// take is what a person's form has on it.
func (f form) take(person body.Measures) body.Measures {
	if f.names == nil {
		return person
	}
	m := body.Measures{}
	for _, n := range f.names {
		switch n {
		case body.WaistToHip:
			m[n] = person[body.WaistHeight] - person[body.HipHeight]
		case body.WaistToKnee:
			m[n] = person[body.WaistHeight] - person[body.KneeHeight]
		case body.OutsideLeg:
			m[n] = person[body.WaistHeight]
		default:
			m[n] = person[n]
		}
		m[n] = body.Centimetre.MM(body.Centimetre.From(m[n])) // to the grain of what is typed
	}
	return m
}

// judge is how a check fares on sets.
type tally struct {
	sets, refused, confirm, note int
	named, explained             int
}

func (t *tally) add(o tally) {
	t.sets += o.sets
	t.refused += o.refused
	t.confirm += o.confirm
	t.note += o.note
	t.named += o.named
	t.explained += o.explained
}

func share(n, of int) float64 { return float64(n) / float64(max(of, 1)) }

// parallel adds up what every person contributes.
func parallel(people []body.Measures, of func(body.Measures) tally) tally {
	var total tally
	var lock sync.Mutex
	var wait sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		wait.Go(func() {
			var t tally
			for i := w; i < len(people); i += workers {
				t.add(of(people[i]))
			}
			lock.Lock()
			defer lock.Unlock()
			total.add(t)
		})
	}
	wait.Wait()
	return total
}

func untouched(c *plausible.Checker, f form) func(body.Measures) tally {
	return func(person body.Measures) tally {
		t := tally{sets: 1}
		switch c.Check(body.Centimetre, f.take(person)).Level() {
		case plausible.Refuse:
			t.refused, t.confirm, t.note = 1, 1, 1
		case plausible.Confirm:
			t.confirm, t.note = 1, 1
		case plausible.Note:
			t.note = 1
		}
		return t
	}
}

func mistaken(c *plausible.Checker, f form, kind mistake) func(body.Measures) tally {
	return func(person body.Measures) tally {
		var t tally
		kind.make(f.take(person), func(changed body.Measures, fields ...body.Name) {
			t.sets++
			r := c.Check(body.Centimetre, changed)
			level := r.Level()
			if level != plausible.Confirm && level != plausible.Refuse {
				return
			}
			t.confirm++
			first := r.Findings[0]
			if names(first, fields) {
				t.named++
			}
			if first.Explanation == kind.explains {
				t.explained++
			}
		})
		return t
	}
}

// names tells whether a finding is about the fields, and about all of those.
func names(f plausible.Finding, fields []body.Name) bool {
	if len(fields) == 0 {
		return f.Explanation == plausible.AllOtherUnit
	}
	for _, n := range fields {
		if f.Name != n && !(len(f.Related) > 0 && f.Related[0] == body.Field(n)) {
			return false
		}
	}
	return true
}

func evaluate(w io.Writer, folder string) error {
	surveys, err := readSurvey(folder)
	if err != nil {
		return err
	}
	checker, err := plausible.New(population.People(), plausible.DefaultLevels)
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, f := range forms {
		fmt.Fprintf(t, "\n%s\n", f.title)
		for _, s := range surveys {
			u := parallel(heldOut(s.people), untouched(checker, f))
			fmt.Fprintf(t, "%s untouched\t%d\trefused %.2f %%\tconfirm %.2f %%\tnote %.2f %%\n", s.group, u.sets, 100*share(u.refused, u.sets), 100*share(u.confirm, u.sets), 100*share(u.note, u.sets))
		}
		for _, kind := range mistakes {
			for _, s := range surveys {
				u := parallel(heldOut(s.people), mistaken(checker, f, kind))
				fmt.Fprintf(t, "%s: %s\t%d\tflagged %.2f %%\tnamed %.2f %%\texplained %.2f %%\t%s\n", s.group, kind.title, u.sets, 100*share(u.confirm, u.sets), 100*share(u.named, u.sets), 100*share(u.explained, u.sets), kind.goal)
			}
		}
		t.Flush()
	}
	return t.Flush()
}
