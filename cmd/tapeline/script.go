package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

// readScript reads and compiles a style's script. No name is no script. If ok is
// false, it has printed why.
func readScript(name string, stderr io.Writer) (script *files.Script, ok bool) {
	if name == "" {
		return nil, true
	}
	source, err := os.ReadFile(name)
	if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", name, err)
		return nil, false
	}
	script, err = files.CompileScript(source)
	if line, reason, in := files.InScript(err); in {
		printAt(stderr, name, line, reason)
		return nil, false
	}
	return script, true
}

// printFindings prints what is probably a mistake in a script. No script has no
// findings.
func printFindings(ctx context.Context, name string, script *files.Script, stderr io.Writer) {
	if script == nil {
		return
	}
	findings, err := files.Findings(ctx, script)
	if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", name, err)
	}
	writeFindings(stderr, name, findings)
}

// ruleUnpaired is the rule of edges that are in no seam.
const ruleUnpaired = "seam_unpaired"

// writeFindings prints findings, a line for each. While a style is being written most of its edges are in
// no seam yet: they share one line.
func writeFindings(w io.Writer, name string, findings []files.Finding) {
	var unpaired []string
	first := 0
	for _, f := range findings {
		if f.Rule == ruleUnpaired {
			unpaired = append(unpaired, f.Piece+"/"+f.Edge)
			first = cmp.Or(first, f.Line)
		}
	}
	for _, f := range findings {
		if f.Rule != ruleUnpaired || len(unpaired) == 1 {
			printAt(w, name, f.Line, f.Detail+" ("+f.Rule+")")
		}
	}
	if len(unpaired) > 1 {
		printAt(w, name, first, fmt.Sprintf("%d edges are in no seam: %s; give an edge finished by itself the role edge, "+
			"and a neckline or armhole that is bound its allowance (%s)", len(unpaired), strings.Join(unpaired, ", "),
			ruleUnpaired))
	}
}

// printAt prints a text that concerns a line of a file, 0 for the whole file.
func printAt(w io.Writer, file string, line int, text string) {
	if line > 0 {
		file = fmt.Sprintf("%s:%d", file, line)
	}
	fmt.Fprintf(w, "%s: %s\n", file, text)
}
