// Command tapeline drafts made-to-measure patterns and serves them.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"text/tabwriter"
)

// What every sub-command exits with.
const (
	exitDone   = 0 // did what it was asked
	exitFaults = 1 // the input is at fault, or a draft failed: said on standard error
	exitUsage  = 2 // called wrongly, or a file could not be read or written
)

type command struct {
	name    string
	summary string
	run     func(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands are the sub-commands, each in a file of its own.
func commands() []command {
	return []command{
		{"draft", "draft an order's pattern and print it on paper", runDraft},
		{"check", "check measurements, or a whole order, and show what is estimated", runCheck},
		{"prove", "draft a block or a style to every body of a file, or of a built-in panel, and measure all drafts back", runProve},
		{"demo", "start everything and take a sample order through it", runDemo},
		{"serve", "serve the API and work on its jobs", runServe},
		{"migrate", "bring the database's schema up to date", runMigrate},
		{"keys", "make, list and revoke API keys", runKeys},
		{"refit", "carry a change to many orders: preview, decide, watch", runRefit},
	}
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		usage(stderr)
		return exitUsage
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		usage(stdout)
		return exitDone
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(ctx, args[1:], stdin, stdout, stderr)
		}
	}
	fmt.Fprintf(stderr, "tapeline: no such command: %q\n", args[0])
	usage(stderr)
	return exitUsage
}

func usage(w io.Writer) {
	fmt.Fprint(w, "tapeline drafts sewing patterns to a person's measurements.\n\nusage: tapeline COMMAND [arguments]\n\n")
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for _, c := range commands() {
		fmt.Fprintf(t, "  %s\t%s\n", c.name, c.summary)
	}
	t.Flush()
	fmt.Fprint(w, "\n\"tapeline COMMAND -h\" says more about one of them.\n"+
		"Exit codes: 0 done, 1 input at fault or a draft failed, 2 called wrongly or a file not readable or writable.\n")
}
