package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

const proveAbout = `
Drafts a block, a built-in style or a script to many bodies. Prints how many drafts are
clean, have faults (by rule), were refused (by reason) and failed (by rule), and the
worst difference of every check. The bodies are the rows of a CSV file whose columns are
measurement names, in cm; other columns are ignored. Without a file they are a built-in
panel that spans the size table. With --ends every fit is proved with each choice at its limits
and options, as a style must be before it is published. With --random it drafts orders
at random instead: a body, any fit, choices and alterations within their limits, and
measurements left out or off their estimates; "all" is every block and built-in style.
With --worn each draft is tried on a form of its body too: how many fit, what a cutter
would alter, by place, and what is worst.
A long proof says every ten seconds how far it is.
A cutter would send a draft with faults back: whoever publishes the style must confirm
the number of such drafts. Exits with 0 if no draft failed, 1 if one did or an argument
has a fault.`

func runProve(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var r files.ProofRequest
	var random randomFlags
	var worn wornFlags
	fs := newFlags("prove", "BLOCK|STYLE|FILE.star|all", proveAbout, stderr)
	table := fs.String("bodies", "", "`FILE` of bodies, CSV (default a built-in panel)")
	fs.BoolVar(&r.Ends, "ends", false, "prove every fit, with each choice at its limits and options")
	fs.Var((*texts)(&r.Fits), "fit", "a `fit`, or all; may be repeated (default the first)")
	fs.Var((*texts)(&r.Set), "set", "`name=value` of a choice, ease/NAME or allowances/EDGE, lengths in cm;\n"+
		"several values a,b are all tried, with all those of other settings")
	fs.Var((*texts)(&r.Columns), "column", "`measurement=column` reads a column with another name as a measurement,\n"+
		"such as back_width_armpit_level=back_width")
	random.add(fs)
	worn.add(fs)
	asJSON := fs.Bool("json", false, "print as JSON")
	positional, code, ok := parseFlags(fs, args, "a block, a style or a script")
	if !ok {
		return code
	}
	if r.Ends && len(r.Fits)+len(r.Set) > 0 {
		fmt.Fprintln(stderr, "tapeline prove: --ends covers every fit and choice; omit --fit and --set")
		return exitUsage
	}
	if fault := worn.check(); fault != "" {
		fmt.Fprintf(stderr, "tapeline prove: %s\n", fault)
		return exitUsage
	}
	if worn.worn && (random.count != 0 || random.order >= 0) {
		fmt.Fprintln(stderr, "tapeline prove: --worn tries on the drafts to a table of bodies or the panel; omit --random")
		return exitUsage
	}
	r.Garment = positional[0]
	if random.count != 0 || random.order >= 0 {
		if r.Ends || len(r.Fits)+len(r.Set) > 0 {
			fmt.Fprintln(stderr, "tapeline prove: --random covers every fit and choice; omit --ends, --fit and --set")
			return exitUsage
		}
		return random.run(ctx, r, *table, *asJSON, stdout, stderr)
	}
	if random.men != "" {
		fmt.Fprintln(stderr, "tapeline prove: --men applies to --random only")
		return exitUsage
	}
	plan, code := planProof(ctx, r, *table, stderr)
	if plan == nil {
		return code
	}
	if worn.worn {
		return worn.run(ctx, plan, *asJSON, stdout, stderr)
	}
	plan.Progress = progressOn(stderr)
	proof, err := plan.Run(ctx)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: stopped: %v\n", context.Cause(ctx))
		return exitUsage
	}
	return writeProof(proof, proof.Failed, *asJSON, stdout, stderr)
}

// printable is a proof, of drafts alone or as worn.
type printable interface {
	WriteText(w io.Writer) error
	WriteJSON(w io.Writer) error
}

// writeProof prints a proof, of whose drafts some failed, and returns the code to exit with.
func writeProof(proof printable, failed int, asJSON bool, stdout, stderr io.Writer) int {
	write := proof.WriteText
	if asJSON {
		write = proof.WriteJSON
	}
	if err := write(stdout); err != nil {
		fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
		return exitUsage
	}
	if failed > 0 {
		return exitFaults
	}
	return exitDone
}

// planProof plans the proof of a garment on the bodies of a table, or on the
// panel without one. Where it cannot, it returns the code to exit with.
func planProof(ctx context.Context, r files.ProofRequest, table string, stderr io.Writer) (*files.ProofPlan, int) {
	var ok bool
	if strings.HasSuffix(r.Garment, ".star") {
		if r.Script, ok = readScript(r.Garment, stderr); !ok {
			return nil, exitFaults
		}
		printFindings(ctx, r.Garment, r.Script, stderr)
	}
	plan, err := r.Plan()
	if err != nil {
		printFaults(stderr, "tapeline prove", files.FaultsOf(err))
		return nil, exitFaults
	}
	if table == "" {
		plan.OnPanel()
		return plan, exitDone
	}
	f, err := os.Open(table)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
		return nil, exitUsage
	}
	defer f.Close()
	if err := plan.OnTable(table, f); err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", table, err)
		return nil, exitFaults
	}
	return plan, exitDone
}
