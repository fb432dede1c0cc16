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
	_ "time/tzdata" // shops' time zones, also where the machine has none
)

// Exit codes of all sub-commands.
const (
	exitDone   = 0
	exitFaults = 1 // the input has faults, or a draft failed
	exitUsage  = 2 // a flag is wrong, or a file could not be read or written
)

type command struct {
	name    string
	summary string
	run     func(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands returns the sub-commands, each in a file of its own.
func commands() []command {
	return []command{
		{"draft", "draft the pattern of an order and write it to a file", runDraft},
		{"fitting", "try an order on a body and say where it does not fit", runFitting},
		{"assess", "assess measurements, and show the estimates", runAssess},
		{"prove", "draft a block or style to many bodies and measure all drafts back", runProve},
		{"sizes", "draft a style over a size table, nested on one sheet", runSizes},
		{"style", "check, format or read in sentences the script of a style", runStyle},
		{"demo", "start a server and take a sample order through it", runDemo},
		{"serve", "serve the API and work on its jobs", runServe},
		{"migrate", "bring the schema of the database up to date", runMigrate},
		{"keys", "add, list and revoke API keys", runKeys},
		{"listen", "forward a shop's webhooks to a program on this machine", runListen},
		{"refit", "apply a change to many orders after a preview", runRefit},
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
	case "version", "-version", "--version":
		fmt.Fprintf(stdout, "tapeline %s\n", version())
		return exitDone
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(ctx, args[1:], stdin, stdout, stderr)
		}
	}
	fmt.Fprintf(stderr, "tapeline: unknown command %q\n", args[0])
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
	fmt.Fprint(w, "\n\"tapeline COMMAND -h\" describes a command; \"tapeline --version\" prints the version.\n"+
		"Exit codes: 0 success; 1 the input has faults or a draft failed; 2 a flag is wrong or a file cannot be read or "+
		"written.\n")
}
