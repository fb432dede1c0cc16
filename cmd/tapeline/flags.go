package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
)

// newFlags returns a flag set that prints the usage of a command and returns
// errors.
func newFlags(name, arguments, about string, stderr io.Writer) *flag.FlagSet {
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(stderr)
	fs.Usage = func() {
		fmt.Fprintf(fs.Output(), "usage: tapeline %s %s\n\n%s\n\n", name, arguments, strings.TrimSpace(about))
		fs.PrintDefaults()
	}
	return fs
}

// parseFlags parses flags before, between and after the positional arguments, of
// which there must be as many as names; one whose name ends in ? may be left out. If
// ok is false, the command exits with the code.
func parseFlags(fs *flag.FlagSet, args []string, names ...string) (positional []string, code int, ok bool) {
	for {
		if err := fs.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, exitDone, false
			}
			return nil, exitUsage, false
		}
		rest := fs.Args()
		if used := len(args) - len(rest); used > 0 && args[used-1] == "--" {
			positional = append(positional, rest...)
			break
		}
		if len(rest) == 0 {
			break
		}
		positional, args = append(positional, rest[0]), rest[1:]
	}
	var required []string
	for _, n := range names {
		if !strings.HasSuffix(n, "?") {
			required = append(required, n)
		}
	}
	if len(positional) < len(required) || len(positional) > len(names) {
		fmt.Fprintf(fs.Output(), "tapeline %s: requires %s; got %d arguments\n", fs.Name(), strings.Join(required, " and "),
			len(positional))
		fs.Usage()
		return nil, exitUsage, false
	}
	return positional, exitDone, true
}

// texts is a flag that may be given several times.
type texts []string

func (t *texts) String() string     { return strings.Join(*t, " ") }
func (t *texts) Set(s string) error { *t = append(*t, s); return nil }
