package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"

	"tapeline/service/files"
)

// wornFlags are the flags of prove for drafts that are tried on.
type wornFlags struct {
	worn, cures  bool
	cloth, level string
	sample       int
	keep         string
}

func (w *wornFlags) add(fs *flag.FlagSet) {
	fs.BoolVar(&w.worn, "worn", false, "try each draft on a form of its body, and print what a cutter would alter")
	fs.BoolVar(&w.cures, "cures", false, "with --worn: try to cure what is found, and print how many drafts then fit")
	fs.StringVar(&w.cloth, "cloth", "", "with --worn: the `cloth`, as of tapeline fitting (default by style)")
	fs.StringVar(&w.level, "level", "quick", "with --worn: quick, or full for triangles of half the size")
	fs.IntVar(&w.sample, "sample", 0, "with --worn: `N` of the bodies, evenly spread (default all)")
	fs.StringVar(&w.keep, "keep", "", "with --worn: `FILE` that keeps how far the proof is; it goes on from there")
}

// check returns what is wrong with the flags, or "".
func (w *wornFlags) check() string {
	switch {
	case !w.worn && (w.cures || w.cloth != "" || w.level != "quick" || w.sample != 0 || w.keep != ""):
		return "--cures, --cloth, --level, --sample and --keep apply to --worn only"
	case w.level != "quick" && w.level != "full":
		return fmt.Sprintf("--level %q: want quick or full", w.level)
	case w.sample < 0:
		return fmt.Sprintf("--sample %d: want 1 or more", w.sample)
	}
	return ""
}

// run tries the drafts of a plan on.
func (w *wornFlags) run(ctx context.Context, plan *files.ProofPlan, asJSON bool, stdout, stderr io.Writer) int {
	o := files.WornOptions{Cloth: w.cloth, Full: w.level == "full", Cures: w.cures, Sample: w.sample}
	if w.keep != "" {
		data, err := os.ReadFile(w.keep)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
			return exitUsage
		}
		o.State, o.Keep = data, w.store
	}
	proof, err := plan.RunWorn(ctx, o)
	if ctx.Err() != nil {
		fmt.Fprintf(stderr, "tapeline prove: stopped: %v\n", context.Cause(ctx))
		return exitUsage
	}
	if err != nil {
		printFaults(stderr, "tapeline prove", files.FaultsOf(err))
		return exitFaults
	}
	return writeProof(proof, proof.Failed, asJSON, stdout, stderr)
}

// store replaces the file that keeps how far a proof is.
func (w *wornFlags) store(state []byte) error {
	next := w.keep + ".next"
	if err := os.WriteFile(next, state, 0o600); err != nil {
		return err
	}
	return os.Rename(next, w.keep)
}
