package main

import (
	"context"
	"fmt"
	"io"

	"tapeline/service/files"
)

const assessAbout = `
Assesses a file of measurements, {"unit": "cm", "measurements": {...}}, or of an
order. Prints every measurement with its source, and questions about numbers that do
not fit the others. The questions follow from data of some thousand fit adults; they
concern numbers, never people. "-" reads standard input. Exits with 0 if there are no
faults (questions are no faults), 1 if there are, one on a line, and 2 if the file
could not be read.`

func runAssess(_ context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("assess", "MEASUREMENTS.json", assessAbout, stderr)
	asJSON := fs.Bool("json", false, "print as JSON")
	positional, code, ok := parseFlags(fs, args, "a file")
	if !ok {
		return code
	}
	data, err := readInput(positional[0], stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline assess: %v\n", err)
		return exitUsage
	}
	a := files.Assess(data)
	if *asJSON {
		err = a.WriteJSON(stdout)
	} else {
		err = a.WriteText(stdout)
		printFaults(stderr, positional[0], a.Faults)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline assess: %v\n", err)
		return exitUsage
	}
	if len(a.Faults) > 0 {
		return exitFaults
	}
	return exitDone
}
