package files

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"tapeline/drafting/proof"
)

// Proof is the result of proving a block or style.
type Proof struct {
	Block   string   `json:"block"`
	Bodies  string   `json:"bodies"`
	Rows    int      `json:"rows"`
	Ignored []string `json:"ignored_columns"`
	proof.Report
	Draft   times   `json:"draft"` // on one core, including the count of its sheets
	Seconds float64 `json:"seconds"`
	Workers int     `json:"workers"`
}

// WriteJSON writes the proof as JSON.
func (p Proof) WriteJSON(w io.Writer) error { return writeJSON(w, p) }

// WriteText writes the proof as text.
func (p Proof) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %d rows of %s\n", p.Block, p.Rows, p.Bodies)
	if len(p.Ignored) > 0 {
		fmt.Fprintf(&b, "ignored columns: %s\n", strings.Join(p.Ignored, ", "))
	}
	fmt.Fprintln(&b)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	row := func(name string, c proof.Counts) {
		fmt.Fprintf(t, "%d\t%d\t%d\t%d\t  %s\n", c.Clean(), c.Faulty, c.Refused, c.Failed, name)
	}
	fmt.Fprint(t, "clean\twith faults\trefused\tfailed\t\n")
	for _, v := range p.Variants {
		row(v.Name, v.Counts)
	}
	if len(p.Variants) > 1 {
		row("all", p.Counts)
	}
	t.Flush()
	if names := p.Undrafted(); len(names) > 0 {
		fmt.Fprintf(&b, "\nnever drafted: %s\n", strings.Join(names, ", "))
	}
	printReasons(&b, "refused, by reason", p.Refusals)
	printReasons(&b, "failed, by rule", p.Failures)
	printReasons(&b, fmt.Sprintf("%d drafted with faults that a cutter would send back, by rule", p.Faulty), p.Faults)
	printReasons(&b, "warnings", p.Warnings)
	if len(p.Checks) > 0 {
		fmt.Fprint(&b, "\nworst difference of each check, mm\n")
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		for _, c := range p.Checks {
			fmt.Fprintf(t, "  %s\tof %g\t%s\t%s, %s\n", signed(c.Difference, 4), c.Tolerance, c.Name, c.Body, c.Variant)
		}
		t.Flush()
	}
	if p.Cloth != nil {
		fmt.Fprintf(&b, "\ncloth in the pieces: %.2f m² (%s, %s) to %.2f (%s, %s), mean %.2f\n", p.Cloth.Min.Value,
			p.Cloth.Min.Body, p.Cloth.Min.Variant,
			p.Cloth.Max.Value, p.Cloth.Max.Body, p.Cloth.Max.Variant, p.Cloth.Mean)
	}
	if p.Sheets != nil {
		fmt.Fprintf(&b, "sheets of A4: %g to %g (%s, %s)\n", p.Sheets.Min.Value, p.Sheets.Max.Value, p.Sheets.Max.Body,
			p.Sheets.Max.Variant)
	}
	if p.Drafted > 0 {
		fmt.Fprintf(&b, "\na draft: mean %.2f ms, median %.2f, 99 of 100 under %.2f, longest %.2f; %.1f s in all on %d "+
			"cores\n",
			p.Draft.Mean, p.Draft.Median, p.Draft.P99, p.Draft.Max, p.Seconds, p.Workers)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func printReasons(w io.Writer, title string, reasons []proof.ReasonReport) {
	if len(reasons) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for _, g := range reasons {
		fmt.Fprintf(w, "  %d  %s  (%s, %s)\n", g.Count, g.Reason, g.Body, g.Variant)
	}
}

// times are the durations of drafts in milliseconds.
type times struct {
	Mean   float64 `json:"mean_ms"`
	Median float64 `json:"median_ms"`
	P99    float64 `json:"p99_ms"`
	Max    float64 `json:"max_ms"`
}

func timesOf(durations []time.Duration) times {
	if len(durations) == 0 {
		return times{}
	}
	sorted := slices.Sorted(slices.Values(durations))
	var sum time.Duration
	for _, d := range sorted {
		sum += d
	}
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	last := len(sorted) - 1
	return times{
		Mean: ms(sum) / float64(len(sorted)), Median: ms(sorted[last/2]),
		P99: ms(sorted[last*99/100]), Max: ms(sorted[last]),
	}
}
