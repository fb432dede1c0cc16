package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
)

const proveAbout = `
Drafts the block to every row of a CSV file of bodies and says how many were
drafted, refused (by reason) and failed (by rule), and the worst difference of
every check. Columns are measurement names, in cm; others are ignored. Exits
with 0 where no draft failed, with 1 where one did or an argument is at fault.`

func runProve(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("prove", "BLOCK --bodies FILE.csv", proveAbout, stderr)
	var fits, sets, columns texts
	file := fs.String("bodies", "", "`FILE` of bodies, CSV (required)")
	fs.Var(&fits, "fit", "a `fit`, or all; may be repeated (default the block's first)")
	fs.Var(&sets, "set", "`name=value` of a choice, of ease/NAME or of allowances/EDGE, lengths in cm;\nseveral values a,b are all tried, with all those of other settings")
	fs.Var(&columns, "column", "`measurement=column` reads a column of another name as a measurement,\nfor example back_width_armpit_level=back_width")
	asJSON := fs.Bool("json", false, "print as JSON")
	positional, code, ok := parseFlags(fs, args, "a block")
	if !ok {
		return code
	}
	if *file == "" {
		fmt.Fprintln(stderr, "tapeline prove: --bodies FILE.csv is required")
		return exitUsage
	}
	variants, faults := variantsOf(positional[0], fits, sets)
	renamed, more := renamedColumns(columns)
	if faults = append(faults, more...); len(faults) > 0 {
		printFaults(stderr, "tapeline prove", faults)
		return exitFaults
	}
	f, err := os.Open(*file)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
		return exitUsage
	}
	people, err := readBodies(f, renamed)
	f.Close()
	if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", *file, err)
		return exitFaults
	}
	start := time.Now()
	tallies, err := proveAll(ctx, people.rows, variants)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: stopped: %v\n", context.Cause(ctx))
		return exitUsage
	}
	report := reportOf(positional[0], *file, people, variants, tallies, time.Since(start))
	if *asJSON {
		err = writeJSON(stdout, report)
	} else {
		err = report.print(stdout)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
		return exitUsage
	}
	if report.Failed > 0 {
		return exitFaults
	}
	return exitDone
}

// A variant is one way in which every body is drafted.
type variant struct {
	name  string
	order drafting.Order // without measurements
}

// variantsOf is every fit with every mix of the settings' values. The faults
// are those of the block, the fits and the settings.
func variantsOf(blockName string, fits, sets []string) ([]variant, fault.List) {
	spec, ok := drafting.Find(blockName)
	base := drafting.Order{Reference: "prove", Revision: 1, Unit: body.Centimetre, Block: blockName}
	if !ok {
		return nil, withoutMeasurements(base.Check())
	}
	if slices.Contains(drafting.Styles(), blockName) {
		base.Block, base.Style = "", blockName
	}
	switch {
	case len(fits) == 0:
		fits = []string{spec.Fits[0].Name}
	case slices.Contains(fits, "all"):
		fits = nil
		for _, f := range spec.Fits {
			fits = append(fits, f.Name)
		}
	}
	var variants []variant
	for _, f := range fits {
		o := base
		o.Fit = f
		variants = append(variants, variant{f, o})
	}
	for _, s := range sets {
		name, values, ok := strings.Cut(s, "=")
		if !ok {
			return nil, fault.List{{Code: fault.Format, Field: "/set", Value: fault.Shorten(s), Accepted: "name=value"}}
		}
		var next []variant
		for _, v := range variants {
			for value := range strings.SplitSeq(values, ",") {
				o, f := set(v.order, spec, name, value)
				if f != nil {
					return nil, fault.List{*f}
				}
				next = append(next, variant{v.name + " " + name + "=" + value, o})
			}
		}
		variants = next
	}
	var faults fault.List
	for _, v := range variants {
		for _, f := range withoutMeasurements(v.order.Check()) {
			if !slices.ContainsFunc(faults, func(g fault.Fault) bool { return g.Error() == f.Error() }) {
				faults = append(faults, f)
			}
		}
	}
	return variants, faults
}

// withoutMeasurements leaves out what only the bodies can answer.
func withoutMeasurements(faults fault.List) fault.List {
	return slices.DeleteFunc(faults, func(f fault.Fault) bool { return strings.HasPrefix(f.Field, "/measurements") })
}

// set is the order with one more choice, ease or allowance.
func set(o drafting.Order, spec block.Spec, name, value string) (drafting.Order, *fault.Fault) {
	v, err := strconv.ParseFloat(value, 64)
	group, key, grouped := strings.Cut(name, "/")
	if !grouped {
		chosen := block.Value{Word: value}
		if err == nil {
			chosen = block.Value{Number: v}
			if i := slices.IndexFunc(spec.Choices, func(c block.Choice) bool { return c.Name == name }); i >= 0 && spec.Choices[i].Kind == block.KindLength {
				chosen.Number = body.Centimetre.MM(v)
			}
		}
		o.Choices = with(o.Choices, name, chosen)
		return o, nil
	}
	if err != nil {
		return o, &fault.Fault{Code: fault.Type, Field: "/" + name, Value: fault.Shorten(value), Accepted: "a length in cm"}
	}
	switch group {
	case "ease":
		o.Ease = with(o.Ease, key, body.Centimetre.MM(v))
	case "allowances":
		o.Allowances = with(o.Allowances, key, body.Centimetre.MM(v))
	default:
		return o, &fault.Fault{Code: fault.Unknown, Field: "/set", Value: fault.Shorten(name), Accepted: "a choice, ease/NAME or allowances/EDGE"}
	}
	return o, nil
}

// with is a copy of m with one more entry.
func with[V any](m map[string]V, key string, v V) map[string]V {
	m = maps.Clone(m)
	if m == nil {
		m = map[string]V{}
	}
	m[key] = v
	return m
}

func renamedColumns(columns []string) (map[string]body.Name, fault.List) {
	renamed := map[string]body.Name{}
	var faults fault.List
	for _, c := range columns {
		name, column, ok := strings.Cut(c, "=")
		if _, known := body.Lookup(body.Name(name)); !ok || !known || column == "" {
			faults = append(faults, fault.Fault{Code: fault.Format, Field: "/column", Value: fault.Shorten(c), Accepted: "measurement=column, with the name of a measurement"})
			continue
		}
		renamed[column] = body.Name(name)
	}
	return renamed, faults
}

// proveAll drafts every row in every variant on all cores and gives a tally
// for each variant. The error is the context's.
func proveAll(ctx context.Context, rows []bodyRow, variants []variant) ([]*tally, error) {
	type job struct{ variant, row int }
	jobs := make(chan job)
	workers := runtime.GOMAXPROCS(0)
	counted := make([][]*tally, workers) // by worker and variant, so that none waits for another
	var wg sync.WaitGroup
	for w := range workers {
		counted[w] = make([]*tally, len(variants))
		for i := range variants {
			counted[w][i] = newTally()
		}
		wg.Go(func() {
			for j := range jobs {
				v, row := variants[j.variant], rows[j.row]
				start := time.Now()
				p, err := draftRow(v.order, row)
				counted[w][j.variant].add(row.line, v.name, p, err, time.Since(start))
			}
		})
	}
feed:
	for v := range variants {
		for r := range rows {
			select {
			case jobs <- job{v, r}:
			case <-ctx.Done():
				break feed
			}
		}
	}
	close(jobs)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	merged := counted[0]
	for _, others := range counted[1:] {
		for i, t := range others {
			merged[i].merge(t)
		}
	}
	return merged, nil
}

// draftRow drafts one body. A panic is a failed draft like any other: the
// proof goes on and names it.
func draftRow(o drafting.Order, row bodyRow) (p finish.Pattern, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v", r)
		}
	}()
	if len(row.faults) > 0 {
		return finish.Pattern{}, row.faults
	}
	o.Measurements = row.given
	return drafting.Draft(o)
}
