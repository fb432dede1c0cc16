package sentence

import (
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// callPhrase says what a call returns.
func (r *reader) callPhrase(call *syntax.CallExpr, kind style.Kind) (string, bool) {
	if dot, ok := call.Fn.(*syntax.DotExpr); ok {
		return r.method(dot, call.Args)
	}
	name := nameOf(call.Fn)
	if v, ok := r.verbs[name]; ok {
		return r.verbPhrase(v, call)
	}
	if _, ok := r.helpers[name]; ok {
		said, ok := r.list(values(call.Args), style.KindAny)
		return "“" + strings.TrimSuffix(nameWords(name), " of") + "” of " + said, ok
	}
	return r.builtin(name, call.Args, kind)
}

// values returns arguments without their names.
func values(args []syntax.Expr) []syntax.Expr {
	out := make([]syntax.Expr, len(args))
	for i, a := range args {
		if named, ok := a.(*syntax.BinaryExpr); ok && named.Op == syntax.EQ {
			a = named.Y
		}
		out[i] = a
	}
	return out
}

// verbPhrase says the result of a verb: what an instruction changed, or the value.
func (r *reader) verbPhrase(v style.Verb, call *syntax.CallExpr) (string, bool) {
	args, err := bind(v, call)
	if err != nil {
		return "", false
	}
	if v.Returns() == style.KindPieces {
		return "those pieces", true
	}
	if v.Acts() {
		base := r.base(call)
		if base != syntax.Expr(call) && !r.isAct(base) {
			return r.phrase(base, style.KindPiece)
		}
		return r.made(base)
	}
	var said strings.Builder
	for _, p := range r.fill(v, v.Phrases(), args) {
		said.WriteString(p.Words)
		if p.Blank == nil {
			continue
		}
		if p.Blank.Value.Form == ByHand {
			return "", false
		}
		said.WriteString(p.Blank.Said)
	}
	return said.String(), true
}

// made says what a verb makes that is given no piece.
func (r *reader) made(e syntax.Expr) (string, bool) {
	v, call, ok := r.verbOf(e)
	if !ok {
		return "", false
	}
	if args, err := bind(v, call); err == nil {
		for _, a := range args["title"] {
			if title, ok := stringOf(a.expr); ok {
				return "the " + strings.ToLower(title), true
			}
		}
	}
	if v.Returns() == style.KindSeam {
		return "that seam", true
	}
	return "that piece", true
}

// entries says a table.
func (r *reader) entries(e *syntax.DictExpr, kind style.Kind) (string, bool) {
	var said []string
	for _, x := range e.List {
		entry := x.(*syntax.DictEntry)
		valueKind := r.kindOf(entry.Value)
		if kind == style.KindTable && isPlain(valueKind) {
			valueKind = style.KindLength
		}
		text, ok := r.all("%s %s", of(entry.Key, style.KindName), of(entry.Value, valueKind))
		if !ok {
			return "", false
		}
		said = append(said, text)
	}
	if len(said) == 0 {
		return "nothing", true
	}
	return strings.Join(said, "; "), true
}

// method says what a method of a value returns.
func (r *reader) method(dot *syntax.DotExpr, args []syntax.Expr) (string, bool) {
	if len(args) != 1 {
		return "", false
	}
	switch dot.Name.Name {
	case "has":
		return r.all("%s is known", of(args[0], style.KindName))
	case "startswith":
		return r.all("%s starts with %s", of(dot.X, style.KindName), of(args[0], style.KindText))
	}
	return "", false
}

// builtin says what a function of the language returns.
func (r *reader) builtin(name string, args []syntax.Expr, kind style.Kind) (string, bool) {
	switch name {
	case "min", "max":
		word := map[string]string{"min": "the smaller of ", "max": "the larger of "}[name]
		if len(args) == 1 {
			word = map[string]string{"min": "the smallest of ", "max": "the largest of "}[name]
		} else if len(args) > 2 {
			word = map[string]string{"min": "the smallest of ", "max": "the largest of "}[name]
		}
		if isPlain(kind) {
			kind = r.kindOfAny(args)
		}
		said, ok := r.list(args, kind)
		return word + said, ok
	case "abs":
		return r.oneOf("the size of %s", args, kind)
	case "len":
		return r.oneOf("the number of %s", args, style.KindAny)
	case "reversed":
		return r.oneOf("%s in reverse", args, kind)
	case "int", "float", "str", "list", "tuple", "sorted":
		return r.oneOf("%s", args, kind)
	}
	return "", false
}

func (r *reader) oneOf(format string, args []syntax.Expr, kind style.Kind) (string, bool) {
	if len(args) != 1 {
		return "", false
	}
	return r.all(format, of(args[0], kind))
}
