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
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

const proveAbout = `
Drafts a block, a built-in style or a script to many bodies and says how many
were drafted, refused (by reason) and failed (by rule), and the worst difference
of every check. The bodies are the rows of a CSV file, whose columns are
measurement names, in cm, others being ignored; or without a file a built-in
panel that spans the size table. With --ends every fit is proved with each choice
at its ends and words, as a style must be before it is published. Exits with 0
where no draft failed, with 1 where one did or an argument is at fault.`

func runProve(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("prove", "BLOCK|STYLE|FILE.star", proveAbout, stderr)
	var fits, sets, columns texts
	file := fs.String("bodies", "", "`FILE` of bodies, CSV (default a built-in panel)")
	ends := fs.Bool("ends", false, "every fit, and each choice at its ends and words")
	fs.Var(&fits, "fit", "a `fit`, or all; may be repeated (default the first)")
	fs.Var(&sets, "set", "`name=value` of a choice, of ease/NAME or of allowances/EDGE, lengths in cm;\nseveral values a,b are all tried, with all those of other settings")
	fs.Var(&columns, "column", "`measurement=column` reads a column of another name as a measurement,\nfor example back_width_armpit_level=back_width")
	asJSON := fs.Bool("json", false, "print as JSON")
	positional, code, ok := parseFlags(fs, args, "a block, a style or a script")
	if !ok {
		return code
	}
	if *ends && len(fits)+len(sets) > 0 {
		fmt.Fprintln(stderr, "tapeline prove: --ends takes every fit and choice; leave --fit and --set out")
		return exitUsage
	}
	name, own, err := garmentOf(positional[0])
	if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", positional[0], err)
		return exitFaults
	}
	spec, _ := drafting.Find(name, own...)
	variants, faults := variantsOf(name, own, fits, sets)
	if *ends && len(faults) == 0 {
		variants = proof.Every(spec, proof.Base(name, own...))
	}
	renamed, more := renamedColumns(columns)
	if faults = append(faults, more...); len(faults) > 0 {
		printFaults(stderr, "tapeline prove", faults)
		return exitFaults
	}
	plan := proof.Plan{Variants: variants}
	of, ignored := "the built-in panel", []string(nil)
	if *file == "" {
		plan.Bodies = proof.Panel(blockOf(name, own), spec.Requires...)
	} else {
		of = *file
		f, err := os.Open(*file)
		if err != nil {
			fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
			return exitUsage
		}
		plan.Bodies, ignored, err = proof.ReadCSV(f, renamed)
		f.Close()
		if err != nil {
			fmt.Fprintf(stderr, "%s: %v\n", *file, err)
			return exitFaults
		}
	}
	report, err := prove(ctx, plan)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: stopped: %v\n", context.Cause(ctx))
		return exitUsage
	}
	report.Block, report.Bodies, report.Rows, report.Ignored = name, of, len(plan.Bodies), append([]string{}, ignored...)
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

// prove runs a plan on all processors and times its drafts.
func prove(ctx context.Context, plan proof.Plan) (proved, error) {
	workers := runtime.GOMAXPROCS(0)
	var mu sync.Mutex
	var times []time.Duration
	start := time.Now()
	tally, _, err := plan.Run(ctx, 0, proof.Pace{Workers: workers, Each: func(draft func()) {
		began := time.Now()
		draft()
		took := time.Since(began)
		mu.Lock()
		times = append(times, took)
		mu.Unlock()
	}})
	if err != nil {
		return proved{}, err
	}
	return proved{Report: plan.Report(tally), Draft: spreadOf(times), Seconds: time.Since(start).Seconds(), Workers: workers}, nil
}

// garmentOf is the name that orders give to what is proved, with the style
// itself where it is a file.
func garmentOf(argument string) (name string, own []*style.Style, err error) {
	if !strings.HasSuffix(argument, ".star") {
		return argument, nil, nil
	}
	s, err := readScript(argument)
	if err != nil {
		return "", nil, err
	}
	return s.Head.Slug, []*style.Style{s}, nil
}

// readScript reads and compiles a style's script.
func readScript(name string) (*style.Style, error) {
	source, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	return style.Compile(source)
}

// blockOf is the block that a style is built on, or the block itself.
func blockOf(name string, own []*style.Style) string {
	if len(own) > 0 {
		return own[0].Head.Block
	}
	if s, ok := style.Builtin(name); ok {
		return s.Head.Block
	}
	return name
}

// variantsOf is every fit with every mix of the settings' values. The faults
// are those of the block or style, the fits and the settings.
func variantsOf(name string, own []*style.Style, fits, sets []string) ([]proof.Variant, fault.List) {
	base := proof.Base(name, own...)
	spec, ok := drafting.Find(name, own...)
	if !ok {
		base.Block, base.Style = name, ""
		return nil, withoutMeasurements(base.Check())
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
	var variants []proof.Variant
	for _, f := range fits {
		o := base
		o.Fit = f
		variants = append(variants, proof.Variant{Name: f, Order: o})
	}
	for _, s := range sets {
		name, values, ok := strings.Cut(s, "=")
		if !ok {
			return nil, fault.List{{Code: fault.Format, Field: "/set", Value: fault.Shorten(s), Accepted: "name=value"}}
		}
		var next []proof.Variant
		for _, v := range variants {
			for value := range strings.SplitSeq(values, ",") {
				o, f := set(v.Order, spec, name, value)
				if f != nil {
					return nil, fault.List{*f}
				}
				next = append(next, proof.Variant{Name: v.Name + " " + name + "=" + value, Order: o})
			}
		}
		variants = next
	}
	var faults fault.List
	for _, v := range variants {
		for _, f := range withoutMeasurements(v.Order.Check()) {
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
