package main

import (
	"context"
	"fmt"
	"io"
	"os"

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
	for _, f := range findings {
		printAt(stderr, name, f.Line, f.Detail+" ("+f.Rule+")")
	}
}

// printAt prints a text that concerns a line of a file, 0 for the whole file.
func printAt(w io.Writer, file string, line int, text string) {
	if line > 0 {
		file = fmt.Sprintf("%s:%d", file, line)
	}
	fmt.Fprintf(w, "%s: %s\n", file, text)
}
