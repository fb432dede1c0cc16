// Package style compiles and drafts styles: garments written as scripts on a
// block. A script declares its head, which describes the style and the choices
// an order may make, and a function make. make receives body, ease, choices and
// the drafted block, and returns pieces, seams and sewing order.
//
// Scripts are in Starlark (go.starlark.net) with the verbs of this package. They
// have no files, network, clock or randomness, and limits on steps, strokes,
// pieces and memory. The same script, body and choices always give the same
// draft. Lengths are mm, and y points down the paper.
package style

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.starlark.net/resolve"
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"tapeline/drafting/block"
	"tapeline/drafting/cost"
	"tapeline/drafting/cutting"
)

// A Style is a compiled script. It is safe for concurrent use.
type Style struct {
	Head Head
	Hash string // SHA-256 of the script, hexadecimal

	source string
	make   *starlark.Function
	needs  needs
	print  func(line int, text string) // nil discards what the script prints
	trace  *Trace                      // nil traces nothing
	memory int                         // that its top level took, bytes
}

// An Error describes a fault of a script or of the garment it drafted.
type Error struct {
	Style        string // slug; "" if the script declares none
	Line, Column int    // in the script; 0 if unknown
	Piece, Edge  string // "" if none is concerned
	Reason       string
	Cost         *cost.Error // the limit, if the script takes more of something than it may
}

// Unwrap returns e.Cost, so that callers find what is too costly anywhere.
func (e *Error) Unwrap() error {
	if e.Cost == nil {
		return nil
	}
	return e.Cost
}

// HashOf returns the Hash of the style that a script compiles to.
func HashOf(script []byte) string {
	sum := sha256.Sum256(script)
	return hex.EncodeToString(sum[:])
}

// Memory estimates the memory that the compiled script takes, bytes: the program and
// what its top level made, of which dicts take six times what is counted.
func (s *Style) Memory() int { return 6*len(s.source) + 40<<10 + 6*s.memory }

// place says where in the script the error is.
func (e *Error) place() string {
	if e.Line == 0 {
		return "the script"
	}
	return fmt.Sprintf("line %d of the script", e.Line)
}

func (e *Error) Error() string {
	s := e.Reason
	if e.Line > 0 {
		s = fmt.Sprintf("line %d: %s", e.Line, s)
	}
	if e.Style != "" {
		s = e.Style + ": " + s
	}
	return s
}

// addCount appends the number of further faults to the reason.
func (e *Error) addCount(more int) *Error {
	if more > 0 {
		e.Reason += fmt.Sprintf(" (and %d more)", more)
	}
	return e
}

// fileName is the name of the script in positions.
const fileName = "style"

var dialect = &syntax.FileOptions{TopLevelControl: true}

// Compile compiles a script and reads its head. The error is an *Error.
func Compile(source []byte) (*Style, error) {
	file, err := Parse(source)
	if err != nil {
		return nil, err
	}
	if err := rewrite(file); err != nil {
		return nil, asError("", err)
	}
	names := predeclared()
	program, err := starlark.FileProgram(file, names.Has)
	if err != nil {
		return nil, asError("", err)
	}
	r := newRun()
	globals, err := program.Init(r.thread, names)
	if err != nil {
		return nil, asError("", err)
	}
	globals.Freeze()
	if r.head == nil {
		return nil, &Error{Line: 1, Reason: "the script declares no style(...)"}
	}
	fn, ok := globals["make"].(*starlark.Function)
	if !ok || fn.NumParams() != 4 || fn.HasVarargs() || fn.HasKwargs() {
		return nil, &Error{Style: r.head.Slug, Line: 1,
			Reason: "the script has no function make(body, ease, choose, block)"}
	}
	s := &Style{Head: *r.head, Hash: HashOf(source), source: string(source), make: fn, memory: r.memory}
	if err := s.validateBlockChoices(); err != nil {
		return nil, err
	}
	s.needs = s.findNeeds()
	return s, nil
}

// Parse parses a script without running it. The error is an *Error.
func Parse(source []byte) (*syntax.File, error) {
	if err := validateSource(source); err != nil {
		return nil, err
	}
	file, err := dialect.Parse(fileName, source, 0)
	if err != nil {
		return nil, asError("", err)
	}
	return file, nil
}

// ParseExpr parses a single expression of a script. The error is an *Error.
func ParseExpr(text string) (syntax.Expr, error) {
	if err := validateSource([]byte(text)); err != nil {
		return nil, err
	}
	e, err := dialect.ParseExpr(fileName, text, 0)
	if err != nil {
		return nil, asError("", err)
	}
	return e, nil
}

// validateSource returns an error for a script that the parser should not see.
func validateSource(source []byte) error {
	if len(source) > maxSource {
		return &Error{Reason: fmt.Sprintf("a script of %d bytes; at most %d", len(source), maxSource)}
	}
	if !utf8.Valid(source) {
		return &Error{Reason: "the script is not UTF-8"}
	}
	if line := findInvisible(source); line > 0 {
		return &Error{Line: line,
			Reason: "an invisible character: a control character, or one that changes the direction of text"}
	}
	if line := findDeepBracket(source); line > 0 {
		return &Error{Line: line, Reason: fmt.Sprintf("brackets nested more than %d deep", maxDepth)}
	}
	return nil
}

// validateBlockChoices validates a draft given as a dict. One given by a
// function is validated when it is called.
func (s *Style) validateBlockChoices() error {
	spec, _ := block.Find(s.Head.Block)
	if d, ok := s.Head.draft.(*starlark.Dict); ok {
		if _, _, err := blockChoices(spec, d); err != nil {
			return &Error{Style: s.Head.Slug, Reason: err.Error()}
		}
	}
	return nil
}

// Source returns the script.
func (s *Style) Source() string { return s.source }

// findInvisible returns the first line with a character that is invisible
// where it stands, 0 if there is none: a script must be what it looks like.
func findInvisible(source []byte) int {
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

// findDeepBracket returns the line where brackets nest too deep for the parser,
// 0 if they do not. It counts brackets in strings and comments too, which
// refuses only scripts that nobody writes.
func findDeepBracket(source []byte) int {
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

// asError converts an error of the parser, the interpreter or a verb to an
// *Error.
func asError(slug string, err error) *Error {
	if already, ok := errors.AsType[*Error](err); ok {
		return already
	}
	e := &Error{Style: slug, Reason: err.Error()}
	if se, ok := errors.AsType[syntax.Error](err); ok {
		e.Line, e.Column, e.Reason = int(se.Pos.Line), int(se.Pos.Col), se.Msg
		return e
	}
	if list, ok := errors.AsType[resolve.ErrorList](err); ok && len(list) > 0 {
		e.Line, e.Column, e.Reason = int(list[0].Pos.Line), int(list[0].Pos.Col), list[0].Msg
		return e.addCount(len(list) - 1)
	}
	if ee, ok := errors.AsType[*starlark.EvalError](err); ok {
		e.Reason = strings.TrimPrefix(ee.Msg, "Starlark computation cancelled: ")
		for _, frame := range slices.Backward(ee.CallStack) {
			if frame.Pos.Filename() == fileName && frame.Pos.Line > 0 {
				e.Line, e.Column = int(frame.Pos.Line), int(frame.Pos.Col)
				break
			}
		}
	}
	if op, ok := errors.AsType[*cutting.Error](err); ok {
		e.Piece, e.Edge = op.Piece, op.Edge
	}
	return e
}
