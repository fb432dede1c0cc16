// Package style runs styles: garments written as scripts on a block. A script
// declares its head, what it is and what an order may choose, and a function
// make that is given body, ease, choices and the drafted block and returns
// pieces, seams and sewing order.
//
// Scripts are in Starlark (go.starlark.net), with the verbs of this package and
// nothing else: no files, network, clock or randomness, and limits on steps,
// strokes, pieces and memory. The same script, body and choices give the same
// draft, always. Lengths are mm, y runs down the paper.
package style

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.starlark.net/resolve"
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"tapeline/drafting/block"
	"tapeline/drafting/cutting"
)

// A Style is a compiled script. It is safe for use by several goroutines.
type Style struct {
	Head Head
	Hash string // SHA-256 of the script, hexadecimal

	source string
	file   *syntax.File // as written, for lint
	make   *starlark.Function
}

// An Error is what is wrong with a script, or with what it drafted.
type Error struct {
	Style        string // its slug, "" where it has none yet
	Line, Column int    // in the script; 0 where no line is to blame
	Piece, Edge  string // what it went wrong on, if anything
	Why          string
}

func (e *Error) Error() string {
	s := e.Why
	if e.Line > 0 {
		s = fmt.Sprintf("line %d: %s", e.Line, s)
	}
	if e.Style != "" {
		s = e.Style + ": " + s
	}
	return s
}

// fileName stands for the script in positions.
const fileName = "style"

var dialect = &syntax.FileOptions{TopLevelControl: true}

// Compile reads a script and its head. The error is an *Error.
func Compile(source []byte) (*Style, error) {
	if len(source) > maxSource {
		return nil, &Error{Why: fmt.Sprintf("a script of %d bytes; at most %d", len(source), maxSource)}
	}
	if !utf8.Valid(source) {
		return nil, &Error{Why: "the script is not UTF-8"}
	}
	if line := unseen(source); line > 0 {
		return nil, &Error{Line: line, Why: "a character that does not show: a control character, or one that turns the direction of text"}
	}
	if line := bracketDepth(source); line > 0 {
		return nil, &Error{Line: line, Why: fmt.Sprintf("brackets nested more than %d deep", maxDepth)}
	}
	file, err := dialect.Parse(fileName, source, 0)
	if err != nil {
		return nil, asError("", err)
	}
	plain, err := dialect.Parse(fileName, source, 0)
	if err != nil {
		return nil, asError("", err)
	}
	if err := guarded(file); err != nil {
		return nil, asError("", err)
	}
	names := predeclared()
	program, err := starlark.FileProgram(file, names.Has)
	if err != nil {
		return nil, asError("", err)
	}
	thread, r := newThread(context.Background(), fileName)
	globals, err := program.Init(thread, names)
	if err != nil {
		return nil, asError("", err)
	}
	globals.Freeze()
	if r.head == nil {
		return nil, &Error{Line: 1, Why: "the script declares no style(...)"}
	}
	fn, ok := globals["make"].(*starlark.Function)
	if !ok || fn.NumParams() != 4 || fn.HasVarargs() || fn.HasKwargs() {
		return nil, &Error{Style: r.head.Slug, Line: 1, Why: "the script has no function make(body, ease, choose, block)"}
	}
	sum := sha256.Sum256(source)
	s := &Style{Head: *r.head, Hash: hex.EncodeToString(sum[:]), source: string(source), file: plain, make: fn}
	if _, err := s.blockChoicesKnown(); err != nil {
		return nil, err
	}
	return s, nil
}

// blockChoicesKnown checks a draft given as a dict; one given by a function is
// known only when it is called.
func (s *Style) blockChoicesKnown() (block.Spec, error) {
	spec, _ := block.Find(s.Head.Block)
	if d, ok := s.Head.draft.(*starlark.Dict); ok {
		if _, _, err := blockChoices(spec, d); err != nil {
			return spec, &Error{Style: s.Head.Slug, Why: err.Error()}
		}
	}
	return spec, nil
}

// Source is the script.
func (s *Style) Source() string { return s.source }

// unseen is the first line with a character that is not seen where it stands,
// 0 for none: a script must be what it looks like.
func unseen(source []byte) int {
	line := 1
	for _, c := range string(source) {
		switch {
		case c == '\n':
			line++
		case c == '\t', c == '\r':
		case unicode.IsControl(c), c >= '\u202a' && c <= '\u202e', c >= '\u2066' && c <= '\u2069', c == '\ufeff':
			return line
		}
	}
	return 0
}

// bracketDepth is the line where brackets nest too deep for the parser, 0 for
// none. Texts and comments are skipped roughly: what is counted in them can
// only refuse a script that nobody writes.
func bracketDepth(source []byte) int {
	depth, line := 0, 1
	for _, c := range source {
		switch c {
		case '\n':
			line++
		case '(', '[', '{':
			if depth++; depth > maxDepth {
				return line
			}
		case ')', ']', '}':
			depth--
		}
	}
	return 0
}

// asError makes an *Error of what the parser, the interpreter or a verb said.
func asError(slug string, err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	if already, ok := errors.AsType[*Error](err); ok {
		return already
	}
	e := &Error{Style: slug, Why: err.Error()}
	if se, ok := errors.AsType[syntax.Error](err); ok {
		e.Line, e.Column, e.Why = int(se.Pos.Line), int(se.Pos.Col), se.Msg
		return e
	}
	if list, ok := errors.AsType[resolve.ErrorList](err); ok && len(list) > 0 {
		e.Line, e.Column, e.Why = int(list[0].Pos.Line), int(list[0].Pos.Col), list[0].Msg
		if n := len(list) - 1; n > 0 {
			e.Why += fmt.Sprintf(" (and %d more)", n)
		}
		return e
	}
	if ee, ok := errors.AsType[*starlark.EvalError](err); ok {
		e.Why = strings.TrimPrefix(ee.Msg, "Starlark computation cancelled: ")
		for i := len(ee.CallStack) - 1; i >= 0; i-- {
			if pos := ee.CallStack[i].Pos; pos.Filename() == fileName && pos.Line > 0 {
				e.Line, e.Column = int(pos.Line), int(pos.Col)
				break
			}
		}
	}
	if op, ok := errors.AsType[*cutting.Error](err); ok {
		e.Piece, e.Edge = op.Piece, op.Edge
	}
	return e
}
