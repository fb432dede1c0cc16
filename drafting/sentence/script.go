// Package sentence reads a style's script as sentences and edits it by them.
//
// The text of the script is the truth. A statement that is a call of a verb is read as
// the verb's sentence, with a blank for each argument; assignments, conditions and loops
// have sentences of their own. What no sentence says is written by hand. An edit changes
// the characters that it is about and leaves comments, spacing and everything written by
// hand as they are.
package sentence

import (
	"fmt"
	"sort"
	"unicode/utf8"

	"go.starlark.net/syntax"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// A Script is a script read as sentences.
type Script struct {
	Sections []Section

	source string
	file   *syntax.File
	lines  []int // the offset of each line
	unit   body.Unit
}

// A Section is the head of the script, which is all outside its functions, or a
// function.
type Section struct {
	Name       string // of the function, "" for the head
	About      string // what the function's docstring says
	Line       int
	Statements []*Statement
}

// A Statement is a statement of the script, or the other branch of the condition
// before it.
type Statement struct {
	Span
	Line, EndLine int
	Sentences     []Sentence // nil if it is written by hand
	Body          []*Statement
	Otherwise     bool // the branch that is taken if the condition before it does not hold
	Text          string
}

// ByHand reports whether the statement is shown as text.
func (s *Statement) ByHand() bool { return len(s.Sentences) == 0 }

// A Span is a range of bytes of the script.
type Span struct{ Start, End int }

// A Sentence says a call, an assignment, a condition or a loop.
type Sentence struct {
	Span                // of the call, or of the statement
	Line, Column int    // where the script calls the verb, as a trace has it
	Verb         string // "" for other sentences
	Parts        []Part
}

// A Part is a part of a sentence: words, or a blank.
type Part struct {
	Words string
	Blank *Blank
}

// A Blank is a place of a sentence that can be filled in otherwise.
type Blank struct {
	Span
	Param string     // the verb's parameter; "value" and "name" in other sentences
	Name  string     // of an argument whose name the script chooses
	Kind  style.Kind // what may fill it
	Of    string     // the variable of the piece that an edge, dart, line or mark belongs to
	Value Value
	Said  string // the value in words
}

// Text returns the sentence in words.
func (s Sentence) Text() string {
	var text string
	for _, p := range s.Parts {
		text += p.Words
		if p.Blank != nil {
			text += p.Blank.Said
		}
	}
	return text
}

// Read reads a script. Lengths are said in unit. The error is that of the parser, with
// its line.
func Read(source string, unit body.Unit) (*Script, error) {
	file, err := style.Parse([]byte(source))
	if err != nil {
		return nil, err
	}
	s := &Script{source: source, file: file, lines: lineStarts(source), unit: unit}
	r := newReader(s)
	head := Section{Line: 1}
	for _, stmt := range file.Stmts {
		def, ok := stmt.(*syntax.DefStmt)
		if !ok {
			head.Statements = append(head.Statements, r.statements([]syntax.Stmt{stmt})...)
		}
		if ok {
			s.Sections = append(s.Sections, r.function(def))
		}
	}
	if len(head.Statements) > 0 {
		s.Sections = append([]Section{head}, s.Sections...)
	}
	return s, nil
}

// Source returns the text of the script.
func (s *Script) Source() string { return s.source }

// Each calls f for every statement, those of a group after it.
func (s *Script) Each(f func(section Section, st *Statement)) {
	for _, section := range s.Sections {
		eachStatement(section.Statements, func(st *Statement) { f(section, st) })
	}
}

func eachStatement(list []*Statement, f func(*Statement)) {
	for _, st := range list {
		f(st)
		eachStatement(st.Body, f)
	}
}

// Count returns the number of statements, and how many of them are sentences.
func (s *Script) Count() (all, said int) {
	s.Each(func(_ Section, st *Statement) {
		if st.Otherwise {
			return
		}
		all++
		if !st.ByHand() {
			said++
		}
	})
	return all, said
}

// Containing returns the innermost statement at a line, nil if there is none.
func (s *Script) Containing(line int) *Statement {
	var found *Statement
	s.Each(func(_ Section, st *Statement) {
		if st.Line <= line && line <= st.EndLine {
			found = st
		}
	})
	return found
}

// lineStarts returns the offsets at which lines begin, as the parser counts them.
func lineStarts(source string) []int {
	starts := []int{0}
	for i := 0; i < len(source); i++ {
		switch source[i] {
		case '\r':
			if i+1 < len(source) && source[i+1] == '\n' {
				i++
			}
			starts = append(starts, i+1)
		case '\n':
			starts = append(starts, i+1)
		}
	}
	return starts
}

// offset returns the offset of a position, whose columns count characters.
func (s *Script) offset(p syntax.Position) int {
	if p.Line < 1 || int(p.Line) > len(s.lines) {
		return len(s.source)
	}
	at := s.lines[p.Line-1]
	for range p.Col - 1 {
		_, size := utf8.DecodeRuneInString(s.source[at:])
		at += size
	}
	return at
}

// lineAt returns the number of the line of an offset.
func (s *Script) lineAt(offset int) int {
	return sort.SearchInts(s.lines, offset+1)
}

// span returns the range of a node.
func (s *Script) span(n syntax.Node) Span {
	return Span{s.offset(syntax.Start(n)), s.offset(endOf(n))}
}

// text returns the characters of a range.
func (s *Script) text(at Span) string { return s.source[at.Start:at.End] }

// endOf returns the position after a node. The parser's own is before the closing
// bracket of some.
func endOf(n syntax.Node) syntax.Position {
	after := func(p syntax.Position) syntax.Position {
		p.Col++
		return p
	}
	switch n := n.(type) {
	case *syntax.TupleExpr:
		if n.Lparen.IsValid() {
			return after(n.Rparen)
		}
		return endOf(n.List[len(n.List)-1])
	case *syntax.IndexExpr:
		return after(n.Rbrack)
	case *syntax.SliceExpr:
		return after(n.Rbrack)
	case *syntax.BinaryExpr:
		return endOf(n.Y)
	case *syntax.CondExpr:
		return endOf(n.False)
	case *syntax.UnaryExpr:
		if n.X != nil {
			return endOf(n.X)
		}
	case *syntax.LambdaExpr:
		return endOf(n.Body)
	case *syntax.DictEntry:
		return endOf(n.Value)
	case syntax.Stmt:
		return endOfStmt(n)
	}
	return syntax.End(n)
}

func endOfStmt(s syntax.Stmt) syntax.Position {
	switch s := s.(type) {
	case *syntax.AssignStmt:
		return endOf(s.RHS)
	case *syntax.ExprStmt:
		return endOf(s.X)
	case *syntax.ReturnStmt:
		if s.Result != nil {
			return endOf(s.Result)
		}
	case *syntax.IfStmt:
		if len(s.False) > 0 {
			return endOfStmt(s.False[len(s.False)-1])
		}
		return endOfStmt(s.True[len(s.True)-1])
	case *syntax.ForStmt:
		return endOfStmt(s.Body[len(s.Body)-1])
	case *syntax.DefStmt:
		return endOfStmt(s.Body[len(s.Body)-1])
	}
	return syntax.End(s)
}

// errorAt returns an error, a *style.Error, about a place of the script.
func (s *Script) errorAt(offset int, format string, args ...any) error {
	return &style.Error{Line: s.lineAt(offset), Reason: fmt.Errorf(format, args...).Error()}
}
