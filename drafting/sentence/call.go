package sentence

import (
	"fmt"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// An argument is an argument of a call of a verb.
type argument struct {
	name string // if the script chose it
	expr syntax.Expr
}

// bind returns the arguments of a call by the verb's parameters.
func bind(v style.Verb, call *syntax.CallExpr) (map[string][]argument, error) {
	args := map[string][]argument{}
	params := v.Params()
	position := 0
	for _, a := range call.Args {
		if u, ok := a.(*syntax.UnaryExpr); ok && (u.Op == syntax.STAR || u.Op == syntax.STARSTAR) {
			return nil, fmt.Errorf("%s: arguments from a list", v.Name())
		}
		if named, ok := a.(*syntax.BinaryExpr); ok && named.Op == syntax.EQ {
			name := nameOf(named.X)
			p, ok := paramNamed(params, name)
			if !ok {
				return nil, fmt.Errorf("%s: unexpected argument %s", v.Name(), name)
			}
			args[p.Name] = append(args[p.Name], argument{name, named.Y})
			continue
		}
		if position >= len(params) || params[position].Rest == style.Named {
			return nil, fmt.Errorf("%s: %d arguments are too many", v.Name(), len(call.Args))
		}
		args[params[position].Name] = append(args[params[position].Name], argument{"", a})
		if params[position].Rest == style.Single {
			position++
		}
	}
	return args, nil
}

// paramNamed returns the parameter for a named argument: that of the name, otherwise
// the one that takes any name.
func paramNamed(params []style.Param, name string) (style.Param, bool) {
	for _, p := range params {
		if p.Name == name && p.Rest != style.Named {
			return p, true
		}
	}
	for _, p := range params {
		if p.Rest == style.Named {
			return p, true
		}
	}
	return style.Param{}, false
}

// verbOf returns the verb that a call calls.
func (r *reader) verbOf(e syntax.Expr) (style.Verb, *syntax.CallExpr, bool) {
	call, ok := e.(*syntax.CallExpr)
	if !ok {
		return style.Verb{}, nil, false
	}
	v, ok := r.verbs[nameOf(call.Fn)]
	return v, call, ok
}

func (r *reader) isAct(e syntax.Expr) bool {
	v, _, ok := r.verbOf(e)
	return ok && v.Acts()
}

// returns returns what a call of a verb returns, "" for other expressions.
func (r *reader) returns(e syntax.Expr) style.Kind {
	v, _, _ := r.verbOf(e)
	return v.Returns()
}

// acts returns the sentences of the instructions in an expression, in the order in
// which the script follows them. when is the condition under which it does. It returns
// false if one cannot be said.
func (r *reader) acts(e syntax.Expr, when string) ([]Sentence, bool) {
	switch e := e.(type) {
	case *syntax.LambdaExpr, *syntax.Comprehension:
		return nil, !r.hasActs(e)
	case *syntax.CondExpr:
		return r.actsIf(e, when)
	}
	var out []Sentence
	for _, x := range operands(e) {
		more, ok := r.acts(x, when)
		if !ok {
			return nil, false
		}
		out = append(out, more...)
	}
	v, call, ok := r.verbOf(e)
	if !ok || !v.Acts() {
		return out, true
	}
	args, err := bind(v, call)
	if err != nil {
		return nil, false
	}
	said := Sentence{Span: r.span(call), Line: int(call.Lparen.Line), Column: int(call.Lparen.Col), Verb: v.Name()}
	if when != "" {
		said.Parts = append(said.Parts, words(when))
	}
	said.Parts = append(said.Parts, r.fill(v, v.Phrases(), args)...)
	if v.Name() == "style" { // before the choices and fits in it
		return append([]Sentence{said}, out...), true
	}
	return append(out, said), true
}

// actsIf returns the sentences of the instructions in a conditional expression.
func (r *reader) actsIf(e *syntax.CondExpr, when string) ([]Sentence, bool) {
	if !r.hasActs(e) {
		return nil, true
	}
	cond, ok := r.phrase(e.Cond, style.KindCondition)
	if !ok || when != "" {
		return nil, false
	}
	yes, ok := r.acts(e.True, "If "+cond+": ")
	no, ok2 := r.acts(e.False, "Unless "+cond+": ")
	return append(yes, no...), ok && ok2
}

// hasActs reports whether there is an instruction in a part of the script.
func (r *reader) hasActs(n syntax.Node) bool {
	found := false
	syntax.Walk(n, func(n syntax.Node) bool {
		if e, ok := n.(syntax.Expr); ok && r.isAct(e) {
			found = true
		}
		return !found
	})
	return found
}

// operands returns the expressions that an expression is made of.
func operands(e syntax.Expr) []syntax.Expr {
	switch e := e.(type) {
	case *syntax.BinaryExpr:
		if e.Op == syntax.EQ {
			return []syntax.Expr{e.Y}
		}
		return []syntax.Expr{e.X, e.Y}
	case *syntax.CallExpr:
		if dot, ok := e.Fn.(*syntax.DotExpr); ok {
			return append([]syntax.Expr{dot.X}, e.Args...)
		}
		return e.Args
	case *syntax.DictExpr:
		return e.List
	case *syntax.DictEntry:
		return []syntax.Expr{e.Key, e.Value}
	case *syntax.DotExpr:
		return []syntax.Expr{e.X}
	case *syntax.IndexExpr:
		return []syntax.Expr{e.X, e.Y}
	case *syntax.ListExpr:
		return e.List
	case *syntax.ParenExpr:
		return []syntax.Expr{e.X}
	case *syntax.SliceExpr:
		return []syntax.Expr{e.X}
	case *syntax.TupleExpr:
		return e.List
	case *syntax.UnaryExpr:
		if e.X != nil {
			return []syntax.Expr{e.X}
		}
	}
	return nil
}

// base returns what an instruction is given to, through the instructions in it:
// front of notch(allow(front, ...), ...). It returns the call of a verb that makes a
// piece of nothing.
func (r *reader) base(e syntax.Expr) syntax.Expr {
	for {
		if p, ok := e.(*syntax.ParenExpr); ok {
			e = p.X
			continue
		}
		next := r.baseOf(e)
		if next == nil {
			return e
		}
		e = next
	}
}

// baseOf returns the piece, path or point that a call of a verb changes, nil if there
// is none.
func (r *reader) baseOf(e syntax.Expr) syntax.Expr {
	v, call, ok := r.verbOf(e)
	if !ok || !v.Acts() || len(v.Params()) == 0 {
		return nil
	}
	first := v.Params()[0]
	if first.Kind != style.KindPiece && first.Kind != style.KindShape {
		return nil
	}
	args, err := bind(v, call)
	if err != nil || len(args[first.Name]) == 0 {
		return nil
	}
	return args[first.Name][0].expr
}

// fill returns the parts of a verb's sentence with its blanks filled in.
func (r *reader) fill(v style.Verb, phrases []style.Phrase, args map[string][]argument) []Part {
	var parts []Part
	for _, p := range phrases {
		switch {
		case p.Param != "":
			for i, a := range args[p.Param] {
				if i > 0 {
					parts = append(parts, words(separator(i, len(args[p.Param]))))
				}
				parts = append(parts, r.argumentParts(v, p, a, args)...)
			}
		case p.Repeat:
			parts = append(parts, r.repeat(v, p.Parts, args)...)
		case p.Parts != nil:
			if isGiven(p.Parts, args) {
				parts = append(parts, r.fill(v, p.Parts, args)...)
			}
		default:
			parts = append(parts, words(p.Words))
		}
	}
	return parts
}

// repeat returns a phrase for each argument of the parameter in it.
func (r *reader) repeat(v style.Verb, phrases []style.Phrase, args map[string][]argument) []Part {
	param := ""
	style.Blanks(phrases, func(p style.Phrase) { // the parameter that takes several
		for _, q := range v.Params() {
			if q.Name == p.Param && q.Rest != style.Single {
				param = p.Param
			}
		}
	})
	var parts []Part
	for i, a := range args[param] {
		if i > 0 {
			parts = append(parts, words(separator(i, len(args[param]))))
		}
		one := map[string][]argument{}
		for name, list := range args {
			one[name] = list
		}
		one[param] = []argument{a}
		parts = append(parts, r.fill(v, phrases, one)...)
	}
	return parts
}

// isGiven reports whether a call gives an argument for a blank of the phrases.
func isGiven(phrases []style.Phrase, args map[string][]argument) bool {
	given := false
	style.Blanks(phrases, func(p style.Phrase) { given = given || len(args[p.Param]) > 0 })
	return given
}

// argumentParts returns an argument as a blank, or a table as one for each entry.
func (r *reader) argumentParts(v style.Verb, p style.Phrase, a argument, args map[string][]argument) []Part {
	if table := tableOf(a.expr); table != nil && !p.OfName && inHead(v.Name()) {
		if parts, ok := r.tableParts(p.Param, table); ok {
			return parts
		}
	}
	return []Part{r.argument(v, p, a, args)}
}

// argument returns an argument as a blank, or its name.
func (r *reader) argument(v style.Verb, p style.Phrase, a argument, args map[string][]argument) Part {
	if p.OfName {
		return words(nameWords(a.name))
	}
	kind, piece := style.KindAny, ""
	for _, q := range v.Params() {
		if q.Name == p.Param {
			kind = q.Kind
			if v.Name() == "choice" && q.Name == "default" && len(args["length"]) > 0 {
				kind = style.KindLength
			}
			break
		}
		if (q.Kind == style.KindPiece || q.Kind == style.KindShape) && len(args[q.Name]) > 0 {
			piece = r.text(r.span(r.base(args[q.Name][0].expr)))
		}
	}
	part, _ := r.blank(p.Param, kind, a.expr)
	part.Blank.Name, part.Blank.Of = a.name, piece
	return part
}

// blank returns an expression as a blank, and false if no words say it.
func (r *reader) blank(param string, kind style.Kind, e syntax.Expr) (Part, bool) {
	said, ok := r.phrase(e, kind)
	b := &Blank{Span: r.span(e), Param: param, Kind: kind, Said: said}
	b.Value = r.value(e, ok)
	if !ok {
		b.Said = "“" + oneLine(r.text(b.Span)) + "”"
	}
	return Part{Blank: b}, ok
}
