package sentence

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// Remove removes the sentence at a place: an element of a list, an instruction within
// another, or its whole statement. Comments above it stay.
func (s *Script) Remove(at Span) (string, error) {
	node, path := s.find(at)
	if node == nil {
		return "", fmt.Errorf("no sentence at characters %d to %d", at.Start, at.End)
	}
	if list, i := elementOf(path); list != nil {
		return s.removeElement(list, i)
	}
	if e, ok := node.(syntax.Expr); ok {
		r := newReader(s)
		if base := r.baseOf(e); base != nil && !removesStatement(path, r.base(e)) {
			return s.replaceExpr(at, s.text(s.span(base)))
		}
	}
	if a, i := pairOf(path); a != nil {
		values, names := a.RHS.(*syntax.TupleExpr).List, a.LHS.(*syntax.TupleExpr).List
		value, name := s.elementSpan(values, i), s.elementSpan(names, i)
		return s.checked(s.source[:name.Start] + s.source[name.End:value.Start] + s.source[value.End:])
	}
	stmt := statementOf(path)
	if next, ok := stmt.(*syntax.IfStmt); ok && s.isBranch(next) {
		return "", s.errorAt(at.Start, "remove the condition that this branch belongs to")
	}
	at = s.span(stmt)
	lines, err := s.linesOf(at)
	if err != nil {
		return "", err
	}
	if block := blockOf(path, stmt); len(block) == 1 {
		return s.checked(s.source[:at.Start] + "pass" + s.source[at.End:])
	}
	if lines.End < len(s.source) {
		lines.End++ // the line break
	}
	return s.checked(s.source[:lines.Start] + s.source[lines.End:])
}

// pairOf returns the assignment of several values to as many names that the innermost
// node is one of, and which; nil if it is in none.
func pairOf(path []syntax.Node) (*syntax.AssignStmt, int) {
	if len(path) < 3 {
		return nil, 0
	}
	a, ok := path[2].(*syntax.AssignStmt)
	if !ok || path[1] != syntax.Node(a.RHS) {
		return nil, 0
	}
	names, ok := a.LHS.(*syntax.TupleExpr)
	values, ok2 := a.RHS.(*syntax.TupleExpr)
	if !ok || !ok2 || len(names.List) != len(values.List) {
		return nil, 0
	}
	e, _ := path[0].(syntax.Expr)
	return a, slices.Index(values.List, e)
}

// removesStatement reports whether without an instruction its statement would assign a
// variable to itself.
func removesStatement(path []syntax.Node, base syntax.Expr) bool {
	if len(path) < 2 {
		return false
	}
	a, ok := path[1].(*syntax.AssignStmt)
	own := ok && nameOf(a.LHS) != "" && nameOf(a.LHS) == nameOf(base)
	return own && syntax.Node(a.RHS) == path[0] && !nested(path[0], base)
}

// nested reports whether there is another instruction between a call and what it is
// given to.
func nested(call syntax.Node, base syntax.Expr) bool {
	c, ok := call.(*syntax.CallExpr)
	return ok && len(c.Args) > 0 && c.Args[0] != base
}

// Move moves the statement or the element of a list at a place up or down past its
// neighbour, with the comment above it.
func (s *Script) Move(at Span, down bool) (string, error) {
	node, path := s.find(at)
	if node == nil {
		return "", fmt.Errorf("no sentence at characters %d to %d", at.Start, at.End)
	}
	if list, i := elementOf(path); list != nil {
		j := neighbour(i, down)
		if j < 0 || j >= len(list) {
			return "", s.errorAt(at.Start, "it is at the end of its list")
		}
		return s.swapped(s.span(list[min(i, j)]), s.span(list[max(i, j)]))
	}
	stmt := statementOf(path)
	block := blockOf(path, stmt)
	i := slices.Index(block, stmt)
	j := neighbour(i, down)
	if i < 0 || j < 0 || j >= len(block) {
		return "", s.errorAt(at.Start, "it is at the end of its block")
	}
	first, err := s.linesOf(s.span(block[min(i, j)]))
	if err != nil {
		return "", err
	}
	second, err := s.linesOf(s.span(block[max(i, j)]))
	if err != nil {
		return "", err
	}
	return s.swapped(s.withComment(first), s.withComment(second))
}

func neighbour(i int, down bool) int {
	if down {
		return i + 1
	}
	return i - 1
}

// swapped returns the script with two ranges exchanged.
func (s *Script) swapped(a, b Span) (string, error) {
	return s.checked(s.source[:a.Start] + s.text(b) + s.source[a.End:b.Start] + s.text(a) + s.source[b.End:])
}

// linesOf returns the whole lines of a statement, without the last line break. The error
// says that something else stands on them.
func (s *Script) linesOf(at Span) (Span, error) {
	if _, first := s.indentOf(at.Start); !first {
		return Span{}, s.errorAt(at.Start, "it shares its line with another statement; change it by hand")
	}
	end := len(s.source)
	if i := strings.IndexAny(s.source[at.End:], "\r\n"); i >= 0 {
		end = at.End + i
	}
	if rest := strings.TrimSpace(s.source[at.End:end]); rest != "" && rest[0] != '#' {
		return Span{}, s.errorAt(at.End, "it shares its line with %q; change it by hand", rest)
	}
	return Span{s.lines[s.lineAt(at.Start)-1], end}, nil
}

// withComment extends whole lines by the lines of comment right above them.
func (s *Script) withComment(at Span) Span {
	for line := s.lineAt(at.Start) - 1; line > 0; line-- {
		start := s.lines[line-1]
		if !strings.HasPrefix(strings.TrimSpace(s.source[start:at.Start]), "#") {
			break
		}
		at.Start = start
	}
	return at
}

// elementOf returns the list that the innermost node is an element of, nil if it is in
// none.
func elementOf(path []syntax.Node) ([]syntax.Expr, int) {
	if len(path) < 2 {
		return nil, 0
	}
	list, ok := path[1].(*syntax.ListExpr)
	if !ok {
		return nil, 0
	}
	e, _ := path[0].(syntax.Expr)
	return list.List, slices.Index(list.List, e)
}

func (s *Script) returnsAt(e syntax.Expr) style.Kind { return newReader(s).returns(e) }

// statementOf returns the innermost statement of a path.
func statementOf(path []syntax.Node) syntax.Stmt {
	for _, n := range path {
		if st, ok := n.(syntax.Stmt); ok {
			return st
		}
	}
	return nil
}

// blockOf returns the statements among which one stands.
func blockOf(path []syntax.Node, stmt syntax.Stmt) []syntax.Stmt {
	for _, n := range path {
		var blocks [][]syntax.Stmt
		switch n := n.(type) {
		case *syntax.File:
			blocks = [][]syntax.Stmt{n.Stmts}
		case *syntax.DefStmt:
			blocks = [][]syntax.Stmt{n.Body}
		case *syntax.ForStmt:
			blocks = [][]syntax.Stmt{n.Body}
		case *syntax.IfStmt:
			blocks = [][]syntax.Stmt{n.True, n.False}
		}
		for _, b := range blocks {
			if slices.Contains(b, stmt) {
				return b
			}
		}
	}
	return nil
}

// isBranch reports whether a condition is another branch of the one around it.
func (s *Script) isBranch(n *syntax.IfStmt) bool {
	return strings.HasPrefix(s.source[s.offset(n.If):], "elif")
}
