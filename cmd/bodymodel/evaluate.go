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

// confirm is the minimum odds at which the customer is asked.
var confirm = plausible.DefaultLevels.Confirm

// evaluate prints how the embedded model with the default levels assesses the
// people who are not in the fitted half.
func evaluate(w io.Writer, folder string) error {
	surveys, err := readSurvey(folder)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Fitted to: %s.\nEvaluated on the other half: %d women, %d men. "+
		"Asked: odds of at least %.2f to one that a number is wrong.\n",
		population.People().Source, len(heldOutHalf(surveys[0].people)), len(heldOutHalf(surveys[1].people)), confirm)
	for _, f := range forms {
		all := tryAll(surveys, f, 1)
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

// result has the trials of one kind of mistake.
type result struct {
	kind mistake
	by   [2]trial // women, men
}

func (r result) all() trial { return slices.Concat(r.by[0], r.by[1]) }

// tryAll tries every kind of mistake on one in every of the people held out.
func tryAll(surveys []survey, f form, every int) []result {
	var all []result
	for _, kind := range append([]mistake{untouched}, mistakes...) {
		r := result{kind: kind}
		for i, s := range surveys {
			var people []body.Measures
			for j, person := range heldOutHalf(s.people) {
				if j%every == 0 {
					people = append(people, person)
				}
			}
			r.by[i] = try(people, f, kind)
		}
		all = append(all, r)
	}
	return all
}

// printShares prints the shares of sets that are asked about, and whether they
// meet the goals.
func printShares(w io.Writer, surveys []survey, all []result) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i, s := range surveys {
		fmt.Fprintf(t, "%s\tsets\tasked %%\tnamed %%\tcorrected %%\n", s.group)
		for _, k := range all {
			of := k.by[i]
			fmt.Fprintf(t, "%s\t%d\t%s", k.kind.title, len(of), percent(of.asked(confirm)))
			if k.kind.title != untouched.title {
				fmt.Fprintf(t, "\t%s\t%s", percent(of.named()), percent(of.corrected()))
			}
			fmt.Fprintln(t)
		}
	}
	fmt.Fprintln(t, "women and men\tgoal %")
	for _, k := range all {
		if k.kind.goal == "" {
			continue
		}
		verdict := "MISSED"
		if k.kind.met(k.all()) {
			verdict = "met"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", k.kind.title, k.kind.goal, verdict)
	}
	return t.Flush()
}

// printCurve prints detection against false alarms, women and men together.
func printCurve(w io.Writer, all []result) error {
	fmt.Fprintln(w, "\nAsked %, women and men, by minimum odds:")
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

// slipRow has the trial of a slip of a fixed size in one measurement.
type slipRow struct {
	name body.Name
	kind mistake
	of   trial
}

// printLimits compares the shares of slips that are asked about with those that
// the best test would ask about at as many false alarms. No test can tell a
// slip from a body where bodies with the same other measurements differ as much.
func printLimits(w io.Writer, all []result, spread map[body.Name]float64) error {
	rows := slipRows(all)
	slips := make([]float64, len(rows))
	for i, r := range rows {
		slips[i] = r.kind.slip / spread[r.name]
	}
	best := bestTest(slips, all[0].all().asked(confirm))
	fmt.Fprintln(w, "\nThe spread of each number, given all others of the form, limits the best test too:")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "measurement\tspread mm\tslip\tasked %\tbest test %")
	sums, counts := map[string]float64{}, map[string]float64{}
	for i, r := range rows {
		fmt.Fprintf(t, "%s\t%.1f\t%s\t%s\t%s\n",
			r.name, spread[r.name], r.kind.title, percent(r.of.asked(confirm)), percent(best[i]))
		sums[r.kind.title] += best[i] * float64(len(r.of))
		counts[r.kind.title] += float64(len(r.of))
	}
	for _, k := range all {
		if n := counts[k.kind.title]; n > 0 {
			fmt.Fprintf(t, "all\t\t%s\t%s\t%s\n",
				k.kind.title, percent(k.all().asked(confirm)), percent(sums[k.kind.title]/n))
		}
	}
	return t.Flush()
}

// slipRows splits the trials of slips by measurement.
func slipRows(all []result) []slipRow {
	var rows []slipRow
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
				rows = append(rows, slipRow{info.Name, k.kind, of})
			}
		}
	}
	return rows
}

func percent(share float64) string { return fmt.Sprintf("%.2f", 100*share) }
