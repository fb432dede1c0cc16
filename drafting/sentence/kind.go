package sentence

import (
	"math"

	"go.starlark.net/syntax"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// numberOf returns the number that an expression is.
func numberOf(e syntax.Expr) (float64, bool) {
	switch e := e.(type) {
	case *syntax.Literal:
		switch v := e.Value.(type) {
		case int64:
			return float64(v), true
		case float64:
			return v, true
		}
	case *syntax.UnaryExpr:
		if e.Op == syntax.MINUS {
			v, ok := numberOf(e.X)
			return -v, ok
		}
	}
	return math.NaN(), false
}

// kindOf returns the kind of an expression as far as the script says it.
func (r *reader) kindOf(e syntax.Expr) style.Kind {
	switch e := e.(type) {
	case *syntax.Literal:
		if _, ok := e.Value.(string); ok {
			return style.KindText
		}
		return style.KindNumber
	case *syntax.Ident:
		if k := r.kinds[e.Name]; !isPlain(k) || !r.lengths[e.Name] {
			return k
		}
		return style.KindLength
	case *syntax.ListExpr:
		if len(e.List) > 0 && len(stringsIn(e)) == len(e.List) {
			return style.KindTexts
		}
	case *syntax.ParenExpr:
		return r.kindOf(e.X)
	case *syntax.UnaryExpr:
		return r.kindOf(e.X)
	case *syntax.CondExpr:
		return r.kindOfAny([]syntax.Expr{e.True, e.False})
	case *syntax.DotExpr:
		return r.kindOfField(e)
	case *syntax.BinaryExpr:
		return r.kindOfBinary(e)
	case *syntax.CallExpr:
		return r.kindOfCall(e)
	}
	return ""
}

// kindOfAny returns the kind of the first of several values that has more than that
// of a number.
func (r *reader) kindOfAny(list []syntax.Expr) style.Kind {
	kind := style.Kind("")
	for _, e := range list {
		if k := r.kindOf(e); kind == "" || isPlain(kind) && !isPlain(k) {
			kind = k
		}
	}
	return kind
}

func (r *reader) kindOfField(e *syntax.DotExpr) style.Kind {
	switch nameOf(e.X) {
	case "body":
		if info, ok := body.Lookup(body.Name(e.Name.Name)); ok && info.Unit == body.Degree {
			return style.KindAngle
		}
		return style.KindLength
	case "ease":
		return style.KindLength
	case "choose":
		return r.choices[e.Name.Name]
	case "block":
		return style.KindPiece
	}
	switch e.Name.Name {
	case "x", "y", "length", "left", "right", "top", "bottom", "width", "height":
		return style.KindLength
	case "start", "end":
		return style.KindPoint
	case "start_direction", "end_direction":
		return style.KindAngle
	}
	return ""
}

func (r *reader) kindOfBinary(e *syntax.BinaryExpr) style.Kind {
	switch e.Op {
	case syntax.OR, syntax.AND:
		kind := r.kindOfAny([]syntax.Expr{e.X, e.Y})
		if kind == style.KindYesNo || r.kindOf(e.Y) == style.KindYesNo || r.kindOf(e.Y) == style.KindCondition {
			return style.KindCondition
		}
		return kind
	case syntax.PLUS, syntax.MINUS, syntax.STAR:
		return r.kindOfAny([]syntax.Expr{e.X, e.Y})
	case syntax.SLASH:
		if r.kindOf(e.Y) == r.kindOf(e.X) {
			return style.KindNumber
		}
		return r.kindOf(e.X)
	case syntax.PERCENT:
		return style.KindText
	}
	return style.KindCondition
}

func (r *reader) kindOfCall(e *syntax.CallExpr) style.Kind {
	name := nameOf(e.Fn)
	if v, ok := r.verbs[name]; ok {
		return v.Returns()
	}
	switch name {
	case "min", "max", "abs":
		return r.kindOfAny(e.Args)
	case "len":
		return style.KindCount
	}
	return ""
}

// learnLengths notes the numbers that the script uses as lengths: constants at its top
// above all.
func (r *reader) learnLengths() {
	syntax.Walk(r.file, func(n syntax.Node) bool {
		if e, ok := n.(syntax.Expr); ok {
			if v, call, ok := r.verbOf(e); ok {
				r.learnFrom(v, call)
			}
			r.learnBeside(e)
		}
		return true
	})
	for before := -1; before != len(r.lengths); { // what a length is made of
		before = len(r.lengths)
		syntax.Walk(r.file, func(n syntax.Node) bool {
			if a, ok := n.(*syntax.AssignStmt); ok && r.lengths[nameOf(a.LHS)] {
				r.learnTerms(a.RHS)
			}
			return true
		})
	}
}

func (r *reader) learnFrom(v style.Verb, call *syntax.CallExpr) {
	args, err := bind(v, call)
	if err != nil {
		return
	}
	for _, p := range v.Params() {
		if p.Kind != style.KindLength && p.Kind != style.KindAlong {
			continue
		}
		for _, a := range args[p.Name] {
			r.learnTerms(a.expr)
		}
	}
}

// learnBeside notes what is compared with a length, or added to one.
func (r *reader) learnBeside(e syntax.Expr) {
	b, ok := e.(*syntax.BinaryExpr)
	if !ok {
		return
	}
	switch b.Op {
	case syntax.GE, syntax.GT, syntax.LE, syntax.LT, syntax.PLUS, syntax.MINUS:
		if r.kindOf(b.X) == style.KindLength {
			r.learnTerms(b.Y)
		}
		if r.kindOf(b.Y) == style.KindLength {
			r.learnTerms(b.X)
		}
	}
}

// learnTerms notes the variables that a length is the sum of.
func (r *reader) learnTerms(e syntax.Expr) {
	switch e := e.(type) {
	case *syntax.Ident:
		r.lengths[e.Name] = true
	case *syntax.ParenExpr:
		r.learnTerms(e.X)
	case *syntax.UnaryExpr:
		r.learnTerms(e.X)
	case *syntax.BinaryExpr:
		if e.Op == syntax.PLUS || e.Op == syntax.MINUS {
			r.learnTerms(e.X)
			r.learnTerms(e.Y)
		} else if _, ok := numberOf(e.X); ok && e.Op == syntax.STAR {
			r.learnTerms(e.Y)
		}
	case *syntax.CallExpr:
		if name := nameOf(e.Fn); name == "min" || name == "max" {
			for _, a := range e.Args {
				r.learnTerms(a)
			}
		}
	}
}
