package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// The interpreter counts steps, but a single step may cost any amount of time
// and memory: "a" * 1000000000, a list doubled thirty times, two nested lists
// compared. rewrite changes a parsed script so that every such operation first
// calls a function that weighs it. The names of these functions begin with a
// character that no script can write.
const (
	guardBinary = "·binary"
	guardGrow   = "·grow"
	guardWeigh  = "·weigh"
	guardKey    = "·key"
	guardAttr   = "·attr"
)

// forbidden are functions of the language that styles do not need.
var forbidden = []string{"bytes", "chr", "dir", "getattr", "hasattr", "hash", "ord", "repr", "set", "type", "fail"}

// maxDepth is the maximum nesting depth of expressions and statements.
const maxDepth = 80

type guard struct {
	depth int
	err   error
}

// rewrite adds the guards to a script in place.
func rewrite(f *syntax.File) error {
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
		g.fail(s.Load, "load is not available: a style is one script")
	case *syntax.WhileStmt:
		g.fail(s.While, "while is not available: write for x in range(n)")
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
	args := []syntax.Expr{literal(s.OpPos, int64(op)), literal(s.OpPos, 0), rhs}
	if id, ok := s.LHS.(*syntax.Ident); ok {
		args[1] = &syntax.Ident{NamePos: s.OpPos, Name: id.Name}
	}
	s.RHS = callTo(guardGrow, s.OpPos, args...)
}

// target rewrites the target of an assignment: names, or elements of a list or
// dict.
func (g *guard) target(e syntax.Expr) syntax.Expr {
	switch e := e.(type) {
	case *syntax.Ident:
		g.checkName(e)
		return e
	case *syntax.ParenExpr:
		e.X = g.target(e.X)
		return e
	case *syntax.TupleExpr:
		g.targets(e.List)
		return e
	case *syntax.ListExpr:
		g.targets(e.List)
		return e
	case *syntax.IndexExpr:
		e.X, e.Y = g.expr(e.X), g.key(e.Y)
		return e
	case *syntax.DotExpr:
		g.fail(e.Dot, "cannot assign to a field: verbs return new pieces")
	}
	return e
}

func (g *guard) targets(list []syntax.Expr) {
	for i := range list {
		list[i] = g.target(list[i])
	}
}

func (g *guard) checkName(id *syntax.Ident) {
	if slices.Contains(forbidden, id.Name) {
		g.fail(id.NamePos, "%s is not available in styles", id.Name)
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
			g.fail(e.TokenPos, "a string of %d bytes; at most %d", len(s), maxString)
		}
	case *syntax.BinaryExpr:
		e.X, e.Y = g.expr(e.X), g.expr(e.Y)
		if needsWeighing(e) {
			return callTo(guardBinary, e.OpPos, literal(e.OpPos, int64(e.Op)), e.X, e.Y)
		}
	case *syntax.CallExpr:
		e.Fn = g.expr(e.Fn)
		for i := range e.Args {
			e.Args[i] = g.arg(e.Args[i])
		}
	case *syntax.DotExpr:
		name := &syntax.Literal{Token: syntax.STRING, TokenPos: e.NamePos, Raw: e.Name.Name, Value: e.Name.Name}
		return callTo(guardAttr, e.Dot, g.expr(e.X), name)
	case *syntax.LambdaExpr:
		g.params(e.Params)
		e.Body = g.expr(e.Body)
	default:
		g.operands(e)
	}
	return e
}

// operands rewrites the operands of an expression that is itself left as it is.
func (g *guard) operands(e syntax.Expr) {
	switch e := e.(type) {
	case *syntax.ParenExpr:
		e.X = g.expr(e.X)
	case *syntax.UnaryExpr:
		g.optional(&e.X)
	case *syntax.IndexExpr:
		e.X, e.Y = g.expr(e.X), g.key(e.Y)
	case *syntax.SliceExpr:
		e.X = callTo(guardWeigh, e.Lbrack, g.expr(e.X))
		g.optional(&e.Lo)
		g.optional(&e.Hi)
		g.optional(&e.Step)
	case *syntax.ListExpr:
		g.exprs(e.List)
	case *syntax.TupleExpr:
		g.exprs(e.List)
	case *syntax.DictExpr:
		for _, x := range e.List {
			g.entry(x.(*syntax.DictEntry))
		}
	case *syntax.CondExpr:
		e.Cond, e.True, e.False = g.expr(e.Cond), g.expr(e.True), g.expr(e.False)
	case *syntax.Comprehension:
		g.comprehension(e)
	}
}

// arg rewrites an argument of a call: x, name=x, *x or **x.
func (g *guard) arg(e syntax.Expr) syntax.Expr {
	switch a := e.(type) {
	case *syntax.BinaryExpr:
		if a.Op == syntax.EQ {
			a.Y = g.expr(a.Y)
			return a
		}
	case *syntax.UnaryExpr:
		if a.Op == syntax.STAR || a.Op == syntax.STARSTAR {
			a.X = callTo(guardWeigh, a.OpPos, g.expr(a.X))
			return a
		}
	}
	return g.expr(e)
}

func (g *guard) comprehension(e *syntax.Comprehension) {
	if entry, ok := e.Body.(*syntax.DictEntry); ok {
		g.entry(entry)
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

func (g *guard) entry(e *syntax.DictEntry) { e.Key, e.Value = g.key(e.Key), g.expr(e.Value) }

func (g *guard) optional(e *syntax.Expr) {
	if *e != nil {
		*e = g.expr(*e)
	}
}

func (g *guard) exprs(list []syntax.Expr) {
	for i := range list {
		list[i] = g.expr(list[i])
	}
}

// key rewrites an index or a dict's key. Literals need no weighing.
func (g *guard) key(e syntax.Expr) syntax.Expr {
	e = g.expr(e)
	if _, ok := e.(*syntax.Literal); ok {
		return e
	}
	return callTo(guardKey, syntax.Start(e), e)
}

// needsWeighing reports whether an operation may cost more than a step: it
// joins, repeats or compares its operands, unless one of them shows that both
// are numbers.
func needsWeighing(e *syntax.BinaryExpr) bool {
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

// isNumber reports whether an expression is a literal number. A whole number
// can repeat a list and counts only if whole is set.
func isNumber(e syntax.Expr, whole bool) bool {
	l, ok := e.(*syntax.Literal)
	return ok && (l.Token == syntax.FLOAT || whole && l.Token == syntax.INT)
}

func callTo(name string, pos syntax.Position, args ...syntax.Expr) *syntax.CallExpr {
	return &syntax.CallExpr{Fn: &syntax.Ident{NamePos: pos, Name: name}, Lparen: pos, Args: args, Rparen: pos}
}

func literal(pos syntax.Position, v int64) *syntax.Literal {
	return &syntax.Literal{Token: syntax.INT, TokenPos: pos, Raw: fmt.Sprint(v), Value: v}
}

// guards are the functions that a rewritten script calls.
var guards = starlark.StringDict{
	guardBinary: guardFunc(guardBinary, func(r *run, args starlark.Tuple) (starlark.Value, error) {
		op, err := r.weighOperator(args)
		if err != nil {
			return nil, err
		}
		return evaluate(op, args[1], args[2])
	}),
	guardGrow: guardFunc(guardGrow, func(r *run, args starlark.Tuple) (starlark.Value, error) {
		_, err := r.weighOperator(args)
		return args[2], err
	}),
	guardWeigh: guardFunc(guardWeigh, func(r *run, args starlark.Tuple) (starlark.Value, error) {
		return args[0], r.weigh(args[0])
	}),
	guardKey: guardFunc(guardKey, func(r *run, args starlark.Tuple) (starlark.Value, error) {
		return args[0], r.weigh(args[0])
	}),
	guardAttr: guardFunc(guardAttr, func(r *run, args starlark.Tuple) (starlark.Value, error) {
		name, _ := starlark.AsString(args[1])
		return r.attr(args[0], name)
	}),
}

func guardFunc(name string, f func(r *run, args starlark.Tuple) (starlark.Value, error)) *starlark.Builtin {
	return newBuiltin(name, func(t *starlark.Thread, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
		return f(runOf(t), args)
	})
}

// weighOperator weighs an operation given as operator and operands, and returns
// the operator.
func (r *run) weighOperator(args starlark.Tuple) (syntax.Token, error) {
	op, _ := starlark.AsInt32(args[0])
	return syntax.Token(op), r.weighBinary(syntax.Token(op), args[1], args[2])
}

// evaluate returns the result of a binary operation.
func evaluate(op syntax.Token, x, y starlark.Value) (starlark.Value, error) {
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
