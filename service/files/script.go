package files

import (
	"context"
	"errors"

	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// Script is a compiled style.
type Script = style.Style

// Finding is something in a script that works but is probably a mistake.
type Finding = style.Finding

// CompileScript compiles the script of a style.
func CompileScript(source []byte) (*Script, error) { return style.Compile(source) }

// Findings returns what is probably a mistake in a script, as an upload of it
// reports it. The error is that of ctx.
func Findings(ctx context.Context, script *Script) (found []Finding, err error) {
	average := proof.Average(proof.Panel(script.Head.Block, script.Head.Measures...))
	err = within(ctx, func(ctx context.Context) (err error) {
		found, err = proof.Findings(ctx, script, average)
		return err
	})
	return found, err
}

// InScript returns the line of a script at which an error arose, 0 if it is
// unknown, and the reason. ok is false for an error that is not the script's.
func InScript(err error) (line int, reason string, ok bool) {
	e, ok := errors.AsType[*style.Error](err)
	if !ok {
		return 0, "", false
	}
	return e.Line, e.Reason, true
}
