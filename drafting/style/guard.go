package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// The interpreter counts steps, but a single step may cost any amount of time
// and memory: "a" * 1000000000, a list doubled thirty times, two nested lists
// compared. guard rewrites a parsed script so that every such operation goes
// through a function of limits.go that weighs it first. Names of those functions
// begin with a character that no script can write.
const (
	guardBinary = "·binary"
	guardGrow   = "·grow"
	guardWeigh  = "·weigh"
	guardKey    = "·key"
	guardAttr   = "·attr"
)

// left out are functions of the language that styles have no use for.
var leftOut = []string{"bytes", "chr", "dir", "getattr", "hasattr", "hash", "ord", "print", "repr", "set", "type", "fail"}

// maxDepth is how deep expressions and statements may nest.
const maxDepth = 80

type guard struct {
	depth int
	err   error
}

// guarded rewrites a file in place.
func guarded(f *syntax.File) error {
	var g guard
	g.stmts(f.Stmts)
	return g.err
}

func (g *guard) fail(pos syntax.Position, format string, args ...any) {
	if g.err == nil {
		g.err = syntax.Error{Pos: pos, Msg: fmt.Sprintf(format, args...)}
	}
}

func (g *guard) stmts(list []syntax.Stmt) {
	g.depth++
	defer func() { g.depth-- }()
	for _, s := range list {
		if g.err != nil {
			return
		}
		if g.depth > maxDepth {
			g.fail(syntax.Start(s), "statements nested more than %d deep", maxDepth)
			return
		}
		g.stmt(s)
	}
}

func (g *guard) stmt(s syntax.Stmt) {
	switch s := s.(type) {
	case *syntax.AssignStmt:
		g.assign(s)
	case *syntax.DefStmt:
		g.checkName(s.Name)
		g.params(s.Params)
		g.stmts(s.Body)
	case *syntax.ExprStmt:
		s.X = g.expr(s.X)
	case *syntax.IfStmt:
		s.Cond = g.expr(s.Cond)
		g.stmts(s.True)
		g.stmts(s.False)
	case *syntax.ForStmt:
		s.Vars = g.target(s.Vars)
		s.X = g.expr(s.X)
		g.stmts(s.Body)
	case *syntax.ReturnStmt:
		if s.Result != nil {
			s.Result = g.expr(s.Result)
		}
	case *syntax.LoadStmt:
		g.fail(s.Load, "load is not offered: a style is one script")
	case *syntax.WhileStmt:
		g.fail(s.While, "while is not offered: write for x in range(n)")
	}
}

func (g *guard) assign(s *syntax.AssignStmt) {
	s.LHS = g.target(s.LHS)
	rhs := g.expr(s.RHS)
	if s.Op == syntax.EQ {
		s.RHS = rhs
		return
	}
	op := s.Op - syntax.PLUS_EQ + syntax.PLUS
	args := []syntax.Expr{number(s.OpPos, int64(op)), number(s.OpPos, 0), rhs}
	if id, ok := s.LHS.(*syntax.Ident); ok {
		args[1] = &syntax.Ident{NamePos: s.OpPos, Name: id.Name}
	}
	s.RHS = call(guardGrow, s.OpPos, args...)
}

// target is what is assigned to: names, or places of a list or dict.
func (g *guard) target(e syntax.Expr) syntax.Expr {
	switch e := e.(type) {
	case *syntax.Ident:
		g.checkName(e)
		return e
	case *syntax.ParenExpr:
		e.X = g.target(e.X)
		return e
	case *syntax.TupleExpr:
		for i := range e.List {
			e.List[i] = g.target(e.List[i])
		}
		return e
	case *syntax.ListExpr:
		for i := range e.List {
			e.List[i] = g.target(e.List[i])
		}
		return e
	case *syntax.IndexExpr:
		e.X, e.Y = g.expr(e.X), g.key(e.Y)
		return e
	case *syntax.DotExpr:
		g.fail(e.Dot, "nothing is assigned to with a dot: verbs return new pieces")
	}
	return e
}

func (g *guard) checkName(id *syntax.Ident) {
	if slices.Contains(leftOut, id.Name) {
		g.fail(id.NamePos, "%s is not offered in styles", id.Name)
	}
}

func (g *guard) params(params []syntax.Expr) {
	for _, p := range params {
		if b, ok := p.(*syntax.BinaryExpr); ok { // name = default
			b.Y = g.expr(b.Y)
		}
	}
}

func (g *guard) expr(e syntax.Expr) syntax.Expr {
	g.depth++
	defer func() { g.depth-- }()
	if g.depth > maxDepth {
		g.fail(syntax.Start(e), "expressions nested more than %d deep", maxDepth)
	}
	if g.err != nil {
		return e
	}
	switch e := e.(type) {
	case *syntax.Ident:
		g.checkName(e)
	case *syntax.Literal:
		if s, ok := e.Value.(string); ok && len(s) > maxString {
			g.fail(e.TokenPos, "text of %d bytes; at most %d", len(s), maxString)
		}
	case *syntax.ParenExpr:
		e.X = g.expr(e.X)
	case *syntax.BinaryExpr:
		e.X, e.Y = g.expr(e.X), g.expr(e.Y)
		if weighed(e) {
			return call(guardBinary, e.OpPos, number(e.OpPos, int64(e.Op)), e.X, e.Y)
		}
	case *syntax.UnaryExpr:
		if e.X != nil {
			e.X = g.expr(e.X)
		}
	case *syntax.CallExpr:
		e.Fn = g.expr(e.Fn)
		for i, a := range e.Args {
			switch a := a.(type) {
			case *syntax.BinaryExpr:
				if a.Op == syntax.EQ { // name=value
					a.Y = g.expr(a.Y)
					continue
				}
				e.Args[i] = g.expr(a)
			case *syntax.UnaryExpr:
				if a.Op == syntax.STAR || a.Op == syntax.STARSTAR {
					a.X = call(guardWeigh, a.OpPos, g.expr(a.X))
					continue
				}
				e.Args[i] = g.expr(a)
			default:
				e.Args[i] = g.expr(a)
			}
		}
	case *syntax.DotExpr:
		return call(guardAttr, e.Dot, g.expr(e.X), &syntax.Literal{Token: syntax.STRING, TokenPos: e.NamePos, Raw: e.Name.Name, Value: e.Name.Name})
	case *syntax.IndexExpr:
		e.X, e.Y = g.expr(e.X), g.key(e.Y)
	case *syntax.SliceExpr:
		e.X = call(guardWeigh, e.Lbrack, g.expr(e.X))
		for _, x := range [...]*syntax.Expr{&e.Lo, &e.Hi, &e.Step} {
			if *x != nil {
				*x = g.expr(*x)
			}
		}
	case *syntax.ListExpr:
		g.exprs(e.List)
	case *syntax.TupleExpr:
		g.exprs(e.List)
	case *syntax.DictExpr:
		for _, x := range e.List {
			entry := x.(*syntax.DictEntry)
			entry.Key, entry.Value = g.key(entry.Key), g.expr(entry.Value)
		}
	case *syntax.CondExpr:
		e.Cond, e.True, e.False = g.expr(e.Cond), g.expr(e.True), g.expr(e.False)
	case *syntax.LambdaExpr:
		g.params(e.Params)
		e.Body = g.expr(e.Body)
	case *syntax.Comprehension:
		if entry, ok := e.Body.(*syntax.DictEntry); ok {
			entry.Key, entry.Value = g.key(entry.Key), g.expr(entry.Value)
		} else {
			e.Body = g.expr(e.Body)
		}
		for _, c := range e.Clauses {
			switch c := c.(type) {
			case *syntax.ForClause:
				c.Vars, c.X = g.target(c.Vars), g.expr(c.X)
			case *syntax.IfClause:
				c.Cond = g.expr(c.Cond)
			}
		}
	}
	return e
}

func (g *guard) exprs(list []syntax.Expr) {
	for i := range list {
		list[i] = g.expr(list[i])
	}
}

// key is an index or a dict's key: a number or a text needs no weighing.
func (g *guard) key(e syntax.Expr) syntax.Expr {
	e = g.expr(e)
	if _, ok := e.(*syntax.Literal); ok {
		return e
	}
	return call(guardKey, syntax.Start(e), e)
}

// weighed reports whether an operation may cost more than a step: it joins,
// repeats or compares what it is given, unless one side shows that both are
// numbers.
func weighed(e *syntax.BinaryExpr) bool {
	switch e.Op {
	case syntax.AND, syntax.OR, syntax.MINUS, syntax.SLASH, syntax.SLASHSLASH:
		return false
	case syntax.PLUS:
		return !isNumber(e.X, true) && !isNumber(e.Y, true)
	case syntax.STAR:
		return !isNumber(e.X, false) && !isNumber(e.Y, false)
	case syntax.LT, syntax.GT, syntax.LE, syntax.GE:
		return !isNumber(e.X, true) && !isNumber(e.Y, true)
	}
	return true
}

// isNumber reports whether an expression is written as a number; a whole one
// can repeat a list.
func isNumber(e syntax.Expr, whole bool) bool {
	l, ok := e.(*syntax.Literal)
	return ok && (l.Token == syntax.FLOAT || whole && l.Token == syntax.INT)
}

func call(name string, pos syntax.Position, args ...syntax.Expr) *syntax.CallExpr {
	return &syntax.CallExpr{Fn: &syntax.Ident{NamePos: pos, Name: name}, Lparen: pos, Args: args, Rparen: pos}
}

func number(pos syntax.Position, v int64) *syntax.Literal {
	return &syntax.Literal{Token: syntax.INT, TokenPos: pos, Raw: fmt.Sprint(v), Value: v}
}

// guards are the functions that the rewritten script calls.
var guards = starlark.StringDict{
	guardBinary: starlark.NewBuiltin(guardBinary, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		op, _ := starlark.AsInt32(args[0])
		if err := runOf(t).weighBinary(syntax.Token(op), args[1], args[2]); err != nil {
			return nil, err
		}
		return binary(syntax.Token(op), args[1], args[2])
	}),
	guardGrow: starlark.NewBuiltin(guardGrow, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		op, _ := starlark.AsInt32(args[0])
		return args[2], runOf(t).weighBinary(syntax.Token(op), args[1], args[2])
	}),
	guardWeigh: starlark.NewBuiltin(guardWeigh, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		return args[0], runOf(t).weigh(args[0])
	}),
	guardKey: starlark.NewBuiltin(guardKey, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		return args[0], runOf(t).weigh(args[0])
	}),
	guardAttr: starlark.NewBuiltin(guardAttr, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		name, _ := starlark.AsString(args[1])
		return runOf(t).attr(args[0], name)
	}),
}

// binary is the operation itself.
func binary(op syntax.Token, x, y starlark.Value) (starlark.Value, error) {
	switch op {
	case syntax.EQL, syntax.NEQ, syntax.LT, syntax.GT, syntax.LE, syntax.GE:
		ok, err := starlark.Compare(op, x, y)
		return starlark.Bool(ok), err
	case syntax.NOT_IN:
		in, err := starlark.Binary(syntax.IN, x, y)
		if err != nil {
			return nil, err
		}
		return !in.Truth(), nil
	}
	return starlark.Binary(op, x, y)
}
