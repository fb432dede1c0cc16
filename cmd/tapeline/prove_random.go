package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

// randomFlags are the flags of prove for orders at random.
type randomFlags struct {
	count int
	seed  uint64
	men   string
	order int
}

func (r *randomFlags) add(fs *flag.FlagSet) {
	fs.IntVar(&r.count, "random", 0, "draft `N` orders at random")
	fs.Uint64Var(&r.seed, "seed", 1, "with --random: `number` from which the orders follow")
	fs.StringVar(&r.men, "men", "", "with --random: `FILE` of bodies, CSV, for those garments only that suit men too")
	fs.IntVar(&r.order, "order", -1, "with --random: print the order of that `number` as ORDER.json, and draft none")
}

// run proves by orders at random, or prints one of them.
func (r randomFlags) run(ctx context.Context, p files.ProofRequest, women string, asJSON bool,
	stdout, stderr io.Writer) int {
	request := files.RandomRequest{Garment: p.Garment, Count: r.count, Seed: r.seed, Columns: p.Columns}
	var ok bool
	if strings.HasSuffix(p.Garment, ".star") {
		if request.Script, ok = readScript(p.Garment, stderr); !ok {
			return exitFaults
		}
		printFindings(ctx, p.Garment, request.Script, stderr)
	}
	plan, err := request.Plan()
	if err != nil {
		printFaults(stderr, "tapeline prove", files.FaultsOf(err))
		return exitFaults
	}
	source, code := readBodies(plan, women, r.men, stderr)
	if code != exitDone {
		return code
	}
	if r.order >= 0 {
		if err := plan.WriteOrder(stdout, r.order); err != nil {
			printFaults(stderr, "tapeline prove", files.FaultsOf(err))
			return exitFaults
		}
		return exitDone
	}
	plan.Progress = progressOn(stderr)
	proof, err := plan.Run(ctx, source)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline prove: stopped: %v\n", context.Cause(ctx))
		return exitUsage
	}
	return writeProof(proof, proof.Failed, asJSON, stdout, stderr)
}

// readBodies reads the tables of bodies, if there are any, and returns their
// names.
func readBodies(plan *files.RandomPlan, women, men string, stderr io.Writer) (source string, code int) {
	if women == "" && men == "" {
		return "the built-in panel", exitDone
	}
	var tables [2]io.Reader
	var names []string
	for i, name := range []string{women, men} {
		if name == "" {
			continue
		}
		f, err := os.Open(name)
		if err != nil {
			fmt.Fprintf(stderr, "tapeline prove: %v\n", err)
			return "", exitUsage
		}
		defer f.Close()
		tables[i] = f
		names = append(names, name)
	}
	if women == "" {
		names = append(names, "the women of the built-in panel")
	}
	source = strings.Join(names, " and ")
	if err := plan.OnTables(tables[0], tables[1]); err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", source, err)
		return "", exitFaults
	}
	return source, exitDone
}
