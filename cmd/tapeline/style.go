package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

const styleAbout = `
Works on the script of a style, FILE.star or the slug of a built-in style.

  check      prints what an upload of the script would report, each with its line
  sentences  prints the script as numbered sentences; with an order, with the numbers
             of its draft in the order's unit
  format     prints the script in the usual layout; with -w it rewrites the file

Exits with 0 if there is nothing to report, 1 if there is or the order has faults, and
2 if a flag is wrong or a file could not be read or written.`

func runStyle(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("style", "check|sentences|format FILE.star [ORDER.json]", styleAbout, stderr)
	unit := fs.String("unit", "cm", "sentences without an order: cm or inch")
	write := fs.Bool("w", false, "format: rewrite the file")
	positional, code, ok := parseFlags(fs, args, "check, sentences or format", "a script", "an order?")
	if !ok {
		return code
	}
	act, name := positional[0], positional[1]
	switch {
	case *unit != "cm" && *unit != "inch":
		fmt.Fprintf(stderr, "tapeline style: -unit %s; want cm or inch\n", *unit)
		return exitUsage
	case act == "sentences" || len(positional) == 2 && (act == "check" || act == "format"):
	default:
		fmt.Fprintf(stderr, "tapeline style: %s; want check FILE.star, sentences FILE.star [ORDER.json] or "+
			"format FILE.star\n", strings.Join(positional, " "))
		return exitUsage
	}
	source, err := readStyle(name, stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline style: %v\n", err)
		return exitUsage
	}
	if act == "format" {
		return formatStyle(name, source, *write, stdout, stderr)
	}
	script, err := files.CompileScript(source)
	if err != nil {
		printStyleError(stderr, name, err)
		return exitFaults
	}
	if act == "check" {
		return checkStyle(ctx, name, script, stdout, stderr)
	}
	var order []byte
	if len(positional) == 3 {
		if order, err = readInput(positional[2], stdin); err != nil {
			fmt.Fprintf(stderr, "tapeline style: %v\n", err)
			return exitUsage
		}
	}
	if err := files.WriteSentences(ctx, stdout, script, order, *unit); err != nil {
		if order != nil {
			name = positional[2]
		}
		printStyleError(stderr, name, err)
		return exitFaults
	}
	return exitDone
}

// readStyle reads a script from a file, or returns that of a built-in style.
func readStyle(name string, stdin io.Reader) ([]byte, error) {
	if s, ok := files.BuiltinScript(name); ok {
		return []byte(s.Source()), nil
	}
	return readInput(name, stdin)
}

// checkStyle prints what is probably a mistake in a script.
func checkStyle(ctx context.Context, name string, script *files.Script, stdout, stderr io.Writer) int {
	findings, err := files.Findings(ctx, script)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline style: %v\n", err)
		return exitUsage
	}
	writeFindings(stdout, name, findings)
	if len(findings) > 0 {
		return exitFaults
	}
	return exitDone
}

// formatStyle prints a script in the usual layout, or rewrites its file.
func formatStyle(name string, source []byte, write bool, stdout, stderr io.Writer) int {
	formatted, err := files.FormatScript(source)
	if err != nil {
		printStyleError(stderr, name, err)
		return exitFaults
	}
	_, builtin := files.BuiltinScript(name)
	switch {
	case !write:
		_, err = stdout.Write(formatted)
	case name == "-" || builtin:
		err = errors.New("-w: want a file")
	case !bytes.Equal(source, formatted):
		err = os.WriteFile(name, formatted, 0o644)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline style: %v\n", err)
		return exitUsage
	}
	return exitDone
}

// printStyleError prints why a script or an order cannot be used, with its line.
func printStyleError(w io.Writer, name string, err error) {
	if line, reason, ok := files.InScript(err); ok {
		printAt(w, name, line, reason)
		return
	}
	fmt.Fprintf(w, "%s: %v\n", name, err)
}
