package files

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"strings"
	"text/tabwriter"
	"time"

	"tapeline/drafting/cost"
	"tapeline/drafting/drape"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/drafting/proof"
	"tapeline/service/work"
)

// WornOptions say how the drafts of a proof are tried on.
type WornOptions struct {
	Cloth  string // name of a preset; "" for the one that suits the style
	Full   bool   // in triangles of half the size
	Cures  bool   // look for changes of the orders that remove what is found
	Sample int    // how many of the bodies, evenly spread; 0 for all

	State []byte                   // of a proof that was stopped, nil to begin
	Keep  func(state []byte) error // called now and then, and at the end; nil for nothing
}

// WornProof is the result of trying the drafts of a block or style on.
type WornProof struct {
	Block  string `json:"block"`
	Bodies string `json:"bodies"`
	Rows   int    `json:"rows"`
	Cloth  string `json:"cloth"`
	Level  string `json:"level"`
	Cures  bool   `json:"cures"`
	proof.WornReport
	Seconds float64 `json:"seconds"` // of this run
	Workers int     `json:"workers"`
}

// wornState is a proof that goes on later.
type wornState struct {
	Plan  string           `json:"plan"` // names bodies, variants and options
	Next  int              `json:"next"`
	Tally *proof.WornTally `json:"tally"`
}

// wornStep is how long drafts are tried on between two states that are kept.
const wornStep = 10 * time.Second

// wornBudget limits one draft, as in the service.
var wornBudget = work.Budget{Time: time.Minute, Memory: cost.Memory}

// RunWorn tries all variants on forms of all bodies, on all processors. The error is
// a fault.List for an unknown cloth or a state of another proof.
func (p *ProofPlan) RunWorn(ctx context.Context, o WornOptions) (WornProof, error) {
	if _, ok := drape.PresetOf(o.Cloth); !ok && o.Cloth != "" {
		return WornProof{}, fault.List{{Code: fault.Choice, Field: "--cloth", Value: o.Cloth, Accepted: fitting.ClothNames()}}
	}
	plan := proof.Worn{Plan: p.plan, Cloth: o.Cloth, Full: o.Full, Cures: o.Cures}
	plan.Bodies = proof.Sample(plan.Bodies, o.Sample)
	state := wornState{Plan: p.nameWorn(plan), Tally: proof.NewWornTally(len(plan.Variants))}
	if o.State != nil {
		var former wornState
		if err := json.Unmarshal(o.State, &former); err != nil || former.Plan != state.Plan || former.Tally == nil {
			return WornProof{}, fault.List{{Code: fault.Format, Field: "--keep",
				Accepted: "the file of a proof of the same garment, bodies and options, or none to begin"}}
		}
		state = former
	}
	start := time.Now()
	for state.Next < plan.Len() {
		if err := step(ctx, plan, &state); err != nil {
			return WornProof{}, err
		}
		if o.Keep == nil {
			continue
		}
		data, err := json.Marshal(state)
		if err == nil {
			err = o.Keep(data)
		}
		if err != nil {
			return WornProof{}, err
		}
	}
	level := "quick"
	if o.Full {
		level = "full"
	}
	return WornProof{Block: p.garment, Bodies: p.bodies, Rows: len(plan.Bodies), Cloth: o.Cloth, Level: level,
		Cures: o.Cures, WornReport: plan.Report(state.Tally), Seconds: time.Since(start).Seconds(),
		Workers: runtime.GOMAXPROCS(0)}, nil
}

// step tries drafts on for a while.
func step(ctx context.Context, plan proof.Worn, state *wornState) error {
	end := time.Now().Add(wornStep)
	tally, next, err := plan.Run(ctx, state.Next, proof.Pace{Workers: runtime.GOMAXPROCS(0),
		More: func() bool { return time.Now().Before(end) },
		Each: func(ctx context.Context, try func(context.Context)) error {
			// The draft says itself that it exceeded its budget.
			_ = wornBudget.Run(ctx, cost.Meter{}, func(ctx context.Context) error { try(ctx); return nil })
			return nil
		}})
	if err != nil {
		return err
	}
	state.Tally.Merge(tally)
	state.Next = next
	return nil
}

// nameWorn returns a name of a plan that differs for every other.
func (p *ProofPlan) nameWorn(w proof.Worn) string {
	hash := sha256.New()
	fmt.Fprintln(hash, p.garment, w.Cloth, w.Full, w.Cures)
	for _, v := range w.Variants {
		fmt.Fprintf(hash, "%s %v %v %v\n", v.Name, v.Order.Choices, v.Order.Ease, v.Order.Allowances)
		if v.Order.Garment != nil {
			fmt.Fprintln(hash, v.Order.Garment.Hash)
		}
	}
	for _, b := range w.Bodies {
		fmt.Fprintln(hash, b.Name, b.Given)
	}
	return hex.EncodeToString(hash.Sum(nil)[:16])
}

// WriteJSON writes the proof as JSON.
func (p WornProof) WriteJSON(w io.Writer) error { return writeJSON(w, p) }

// writeFindings writes findings under a heading, if there are any.
func writeFindings(w io.Writer, heading string, findings []proof.WornFinding) {
	if len(findings) > 0 {
		fmt.Fprintf(w, "\n%s\n", heading)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, f := range findings {
		x := f.Worst
		kind := strings.ReplaceAll(string(x.Kind), "_", " ")
		fmt.Fprintf(t, "  %d\t%s\t%s\t%.1f %s, limit %.1f\t(%s, %s)\n", f.Count, kind, x.Place,
			x.Value, x.Unit, x.Limit, f.Body, f.Variant)
	}
	t.Flush()
}

// WriteText writes the proof as text.
func (p WornProof) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %d rows of %s, worn, %s\n\n", p.Block, p.Rows, p.Bodies, p.Level)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	row := func(name string, c proof.WornCounts) {
		fmt.Fprintf(t, "%d\t%d\t", c.Fit, c.Found)
		if p.Cures {
			fmt.Fprintf(t, "%d\t", c.Cured)
		}
		fmt.Fprintf(t, "%d\t%d\t%d\t  %s\n", c.Unsettled, c.Refused, c.Failed, name)
	}
	fmt.Fprint(t, "fit\tto alter\t")
	if p.Cures {
		fmt.Fprint(t, "then fit\t")
	}
	fmt.Fprint(t, "not settled\tnot tried on\tfailed\t\n")
	for _, v := range p.Variants {
		row(v.Name, v.WornCounts)
	}
	if len(p.Variants) > 1 {
		row("all", p.WornCounts)
	}
	t.Flush()
	writeFindings(&b, "to alter, by place, and the worst", p.Findings)
	writeFindings(&b, "left with the cures", p.Uncured)
	if r := p.Residual; r != nil {
		fmt.Fprintf(&b, "\nfurthest from rest: %.1f %% of the load not borne (%s, %s)\n", 100*r.Value, r.Body, r.Variant)
	}
	printReasons(&b, "not tried on or failed, by reason", p.Reasons)
	if tried := p.Tried(); tried > 0 {
		fmt.Fprintf(&b, "\n%d tried on; this run took %.0f s on %d cores\n", tried, p.Seconds, p.Workers)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
