package files

import (
	"context"
	"io"
	"maps"
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

// ProofRequest describes what to prove, on which bodies.
type ProofRequest struct {
	Garment string       // a block or style
	Script  *style.Style // the style, if it is not built in
	Ends    bool         // every fit, and each choice at its limits and options
	Fits    []string     // a fit, or "all"; none for the first
	Set     []string     // name=value,... of choices, ease and allowances
	Columns []string     // measurement=column for columns with other names
}

// ProofPlan is a checked ProofRequest.
type ProofPlan struct {
	plan    proof.Plan
	garment string
	block   string
	spec    block.Spec
	renamed map[string]body.Name
	bodies  string
	ignored []string

	// Progress is told how many of the drafts are done, by one goroutine at a time. It may be nil.
	Progress func(done, of int)
}

// Plan checks a request and plans its proof. The error is a fault.List.
func (r ProofRequest) Plan() (*ProofPlan, error) {
	if r.Script != nil {
		r.Garment = r.Script.Head.Slug
	}
	styles := own(r.Script)
	p := &ProofPlan{garment: r.Garment, block: drafting.BlockOf(r.Garment, styles...)}
	var faults, more fault.List
	if p.plan.Variants, faults = variantsOf(r.Garment, styles, r.Fits, r.Set); len(faults) == 0 {
		p.spec, _ = drafting.Find(r.Garment, styles...)
		if r.Ends {
			p.plan.Variants = proof.Every(p.spec, proof.Base(r.Garment, styles...))
		}
	}
	p.renamed, more = renamedColumns(r.Columns)
	return p, append(faults, more...).Err()
}

// OnPanel proves on the built-in panel of bodies.
func (p *ProofPlan) OnPanel() {
	p.bodies, p.plan.Bodies = "the built-in panel", proof.Panel(p.block, p.spec.Requires...)
}

// OnTable proves on the bodies of a CSV table.
func (p *ProofPlan) OnTable(name string, table io.Reader) (err error) {
	p.bodies = name
	p.plan.Bodies, p.ignored, err = proof.ReadCSV(table, p.renamed)
	return err
}

// Run drafts all variants to all bodies, on all processors.
func (p *ProofPlan) Run(ctx context.Context) (Proof, error) {
	report, err := prove(ctx, p.plan, p.Progress)
	report.Block, report.Bodies, report.Rows = p.garment, p.bodies, len(p.plan.Bodies)
	report.Ignored = append([]string{}, p.ignored...)
	return report, err
}

// series is a numbered series of drafts.
type series interface {
	Len() int
	Run(ctx context.Context, from int, pace proof.Pace) (*proof.Tally, int, error)
	Report(t *proof.Tally) proof.Report
}

// prove runs a series on all processors and times its drafts.
func prove(ctx context.Context, plan series, progress func(done, of int)) (Proof, error) {
	workers := runtime.GOMAXPROCS(0)
	var mu sync.Mutex
	var durations []time.Duration
	start := time.Now()
	tally, _, err := plan.Run(ctx, 0, proof.Pace{Workers: workers,
		Each: func(ctx context.Context, draft func(context.Context)) error {
			began := time.Now()
			// The draft says itself that it exceeded its budget.
			_ = within(ctx, func(ctx context.Context) error { draft(ctx); return nil })
			took := time.Since(began)
			mu.Lock()
			durations = append(durations, took)
			if progress != nil {
				progress(len(durations), plan.Len())
			}
			mu.Unlock()
			return nil
		}})
	if err != nil {
		return Proof{}, err
	}
	return Proof{Report: plan.Report(tally), Draft: timesOf(durations), Seconds: time.Since(start).Seconds(),
		Workers: workers}, nil
}

// variantsOf combines every fit with every combination of the settings' values.
// The faults are those of the garment, the fits and the settings.
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
		faults = mergeFaults(faults, withoutMeasurements(v.Order.Check()))
	}
	return variants, faults
}

// withoutMeasurements removes the faults that only a body can have.
func withoutMeasurements(faults fault.List) fault.List {
	return slices.DeleteFunc(faults, func(f fault.Fault) bool { return strings.HasPrefix(f.Field, "/measurements") })
}

// set returns the order with one more choice, ease or allowance.
func set(o drafting.Order, spec block.Spec, name, value string) (drafting.Order, *fault.Fault) {
	v, err := strconv.ParseFloat(value, 64)
	group, key, grouped := strings.Cut(name, "/")
	if !grouped {
		chosen := block.Value{Word: value}
		if err == nil {
			chosen = block.Value{Number: v}
			if i := slices.IndexFunc(spec.Choices, func(c block.Choice) bool { return c.Name == name }); i >= 0 &&
				spec.Choices[i].Kind == block.KindLength {
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
		return o, &fault.Fault{Code: fault.Unknown, Field: "/set", Value: fault.Shorten(name),
			Accepted: "a choice, ease/NAME or allowances/EDGE"}
	}
	return o, nil
}

// with returns a copy of m with one more entry.
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
			faults = append(faults, fault.Fault{Code: fault.Format, Field: "/column", Value: fault.Shorten(c),
				Accepted: "measurement=column, with the name of a measurement"})
			continue
		}
		renamed[column] = body.Name(name)
	}
	return renamed, faults
}
