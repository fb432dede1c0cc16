package main

import (
	"fmt"
	"io"
	"runtime"
	"strings"
	"text/tabwriter"
	"time"
)

// proof is what proving a block has found.
type proof struct {
	Block    string          `json:"block"`
	Bodies   string          `json:"bodies"`
	Rows     int             `json:"rows"`
	Ignored  []string        `json:"ignored_columns"`
	Variants []variantCounts `json:"variants"`
	counts
	Refusals []group `json:"refusals"`
	Failures []group `json:"failures"`
	Warnings []group `json:"warnings"`
	Checks   []worst `json:"checks"`
	Draft    spread  `json:"draft"` // time of one, on one core
	Seconds  float64 `json:"seconds"`
	Workers  int     `json:"workers"`
}

type counts struct {
	Drafted int `json:"drafted"`
	Refused int `json:"refused"`
	Failed  int `json:"failed"`
}

type variantCounts struct {
	Name string `json:"name"`
	counts
}

func reportOf(blockName, file string, people bodies, variants []variant, tallies []*tally, took time.Duration) proof {
	all := newTally()
	p := proof{
		Block: blockName, Bodies: file, Rows: len(people.rows), Ignored: append([]string{}, people.ignored...),
		Seconds: took.Seconds(), Workers: runtime.GOMAXPROCS(0),
	}
	for i, t := range tallies {
		all.merge(t)
		p.Variants = append(p.Variants, variantCounts{variants[i].name, counts{t.drafted, t.refused, t.failed}})
	}
	p.counts = counts{all.drafted, all.refused, all.failed}
	p.Refusals, p.Failures, p.Warnings = byCount(all.refusals), byCount(all.failures), byCount(all.warning)
	p.Checks, p.Draft = worstFirst(all.checks), spreadOf(all.times)
	return p
}

func (p proof) print(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %d rows of %s\n", p.Block, p.Rows, p.Bodies)
	if len(p.Ignored) > 0 {
		fmt.Fprintf(&b, "ignored columns: %s\n", strings.Join(p.Ignored, ", "))
	}
	fmt.Fprintln(&b)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	row := func(name string, c counts) {
		fmt.Fprintf(t, "%d\t%d\t%d\t  %s\n", c.Drafted, c.Refused, c.Failed, name)
	}
	fmt.Fprint(t, "drafted\trefused\tfailed\t\n")
	for _, v := range p.Variants {
		row(v.Name, v.counts)
	}
	if len(p.Variants) > 1 {
		row("all", p.counts)
	}
	t.Flush()
	printGroups(&b, "refused, by reason", p.Refusals)
	printGroups(&b, "failed, by rule", p.Failures)
	printGroups(&b, "warnings", p.Warnings)
	if len(p.Checks) > 0 {
		fmt.Fprint(&b, "\nworst difference of each check, mm\n")
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		for _, c := range p.Checks {
			fmt.Fprintf(t, "  %s\tof %g\t%s\tline %d, %s\n", signed(c.Difference, 4), c.Tolerance, c.Name, c.Line, c.Variant)
		}
		t.Flush()
	}
	if p.Drafted > 0 {
		fmt.Fprintf(&b, "\na draft: mean %.2f ms, median %.2f, 99 of 100 under %.2f, longest %.2f; %.1f s in all on %d cores\n",
			p.Draft.Mean, p.Draft.Median, p.Draft.P99, p.Draft.Max, p.Seconds, p.Workers)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func printGroups(w io.Writer, title string, groups []group) {
	if len(groups) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for _, g := range groups {
		fmt.Fprintf(w, "  %d  %s  (line %d, %s)\n", g.Count, g.Reason, g.Line, g.Variant)
	}
}
