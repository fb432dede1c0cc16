package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/body/population"
)

// confirm is from which odds on a customer is asked.
var confirm = plausible.DefaultLevels.Confirm

// evaluate judges the model that the program carries, at the default levels,
// on the people whom it was not fitted on.
func evaluate(w io.Writer, folder string) error {
	surveys, err := readSurvey(folder)
	if err != nil {
		return err
	}
	checker, err := plausible.New(population.People(), plausible.DefaultLevels)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Fitted on: %s.\nJudged on the half held out: %d women, %d men. Asked: odds of at least %.2f to one that a number is wrong.\n",
		population.People().Source, len(heldOut(surveys[0].people)), len(heldOut(surveys[1].people)), confirm)
	for _, f := range forms {
		all := tryAll(checker, surveys, f, 1)
		fmt.Fprintf(w, "\n%s\n\n", strings.ToUpper(f.title))
		if err := printShares(w, surveys, all); err != nil {
			return err
		}
		if err := printCurve(w, all); err != nil {
			return err
		}
		if err := printLimits(w, all, spreads(surveys, f)); err != nil {
			return err
		}
	}
	return printEstimates(w, surveys)
}

// tried is one kind of mistake with both groups.
type tried struct {
	kind mistake
	by   [2]trial // women, men
}

func (t tried) all() trial { return slices.Concat(t.by[0], t.by[1]) }

// tryAll tries every kind of mistake on every so manieth of those held out.
func tryAll(c *plausible.Checker, surveys []survey, f form, every int) []tried {
	var all []tried
	for _, kind := range append([]mistake{untouched}, mistakes...) {
		t := tried{kind: kind}
		for i, s := range surveys {
			var people []body.Measures
			for j, person := range heldOut(s.people) {
				if j%every == 0 {
					people = append(people, person)
				}
			}
			t.by[i] = try(c, people, f, kind)
		}
		all = append(all, t)
	}
	return all
}

// printShares shows what is asked about at the level of a question to the
// customer, beside what the product wants.
func printShares(w io.Writer, surveys []survey, all []tried) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i, s := range surveys {
		fmt.Fprintf(t, "%s\tsets\tasked %%\tnamed %%\tput right %%\n", s.group)
		for _, k := range all {
			of := k.by[i]
			fmt.Fprintf(t, "%s\t%d\t%s", k.kind.title, len(of), percent(of.asked(confirm)))
			if k.kind.title != untouched.title {
				fmt.Fprintf(t, "\t%s\t%s", percent(of.named()), percent(of.right()))
			}
			fmt.Fprintln(t)
		}
	}
	fmt.Fprintln(t, "women and men\twanted %")
	for _, k := range all {
		if k.kind.goal == "" {
			continue
		}
		verdict := "SHORT"
		if k.kind.met(k.all()) {
			verdict = "met"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", k.kind.title, k.kind.goal, verdict)
	}
	return t.Flush()
}

// printCurve shows detection against false alarms, women and men together.
func printCurve(w io.Writer, all []tried) error {
	fmt.Fprintln(w, "\nAsked %, women and men, from which odds on:")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "odds\t")
	var shown []trial
	for _, k := range all {
		if k.kind.short != "" {
			fmt.Fprintf(t, "%s\t", k.kind.short)
			shown = append(shown, k.all())
		}
	}
	fmt.Fprintln(t)
	for _, odds := range []float64{0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 20, 100} {
		fmt.Fprintf(t, "%g\t", odds)
		for _, k := range shown {
			fmt.Fprintf(t, "%s\t", percent(k.asked(odds)))
		}
		fmt.Fprintln(t)
	}
	return t.Flush()
}

// printLimits shows where the limit of the data lies: no check can tell a slip
// from a body where bodies alike in all else differ as much. Beside what the
// check asks about stands what the best test could at as many false alarms.
func printLimits(w io.Writer, all []tried, spread map[body.Name]float64) error {
	fmt.Fprintln(w, "\nEach number's own spread, all others of the form known, limits what can be told, by the best test too:")
	type slipped struct {
		name body.Name
		kind mistake
		of   trial
	}
	var rows []slipped
	var slips []float64
	for _, k := range all {
		if k.kind.slip == 0 {
			continue
		}
		fields := map[body.Name]trial{}
		for _, o := range k.all() {
			fields[o.field] = append(fields[o.field], o)
		}
		for _, info := range body.All() {
			if of := fields[info.Name]; of != nil {
				rows = append(rows, slipped{info.Name, k.kind, of})
				slips = append(slips, k.kind.slip/spread[info.Name])
			}
		}
	}
	best := bestTest(slips, all[0].all().asked(confirm))
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "measurement\tspread mm\tslip\tasked %\tbest test %")
	sums, counts := map[string]float64{}, map[string]float64{}
	for i, r := range rows {
		fmt.Fprintf(t, "%s\t%.1f\t%s\t%s\t%s\n", r.name, spread[r.name], r.kind.title, percent(r.of.asked(confirm)), percent(best[i]))
		sums[r.kind.title] += best[i] * float64(len(r.of))
		counts[r.kind.title] += float64(len(r.of))
	}
	for _, k := range all {
		if n := counts[k.kind.title]; n > 0 {
			fmt.Fprintf(t, "all\t\t%s\t%s\t%s\n", k.kind.title, percent(k.all().asked(confirm)), percent(sums[k.kind.title]/n))
		}
	}
	return t.Flush()
}

func percent(share float64) string { return fmt.Sprintf("%.2f", 100*share) }
