package sentence

import (
	"fmt"
	"strconv"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// phrase says an expression in words, as a value of a kind. It returns false if no
// words say it.
func (r *reader) phrase(e syntax.Expr, kind style.Kind) (string, bool) {
	if kind == style.KindAlong {
		return r.along(e)
	}
	switch e := e.(type) {
	case *syntax.Literal:
		return r.literal(e, kind)
	case *syntax.Ident:
		return r.variable(e.Name, kind), true
	case *syntax.ParenExpr:
		if _, tuple := e.X.(*syntax.TupleExpr); tuple {
			return r.phrase(e.X, kind)
		}
		said, ok := r.phrase(e.X, kind)
		return "(" + said + ")", ok
	case *syntax.DotExpr:
		return r.field(e, kind)
	case *syntax.LambdaExpr:
		return r.phrase(e.Body, kind)
	case *syntax.DictExpr:
		return r.entries(e, kind)
	case *syntax.UnaryExpr:
		return r.unary(e, kind)
	case *syntax.BinaryExpr:
		return r.binary(e, kind)
	case *syntax.CondExpr:
		return r.all("%s if %s, otherwise %s", of(e.True, kind), of(e.Cond, style.KindCondition), of(e.False, kind))
	case *syntax.ListExpr:
		return r.list(e.List, kind)
	case *syntax.TupleExpr:
		return r.tuple(e, kind)
	case *syntax.IndexExpr:
		return r.index(e, kind)
	case *syntax.Comprehension:
		return r.comprehension(e, kind)
	case *syntax.CallExpr:
		return r.callPhrase(e, kind)
	}
	return "", false
}

// operand is an expression to say as a kind.
type operand struct {
	expr syntax.Expr
	kind style.Kind
}

func of(e syntax.Expr, kind style.Kind) operand { return operand{e, kind} }

// all says expressions in a format.
func (r *reader) all(format string, list ...operand) (string, bool) {
	said := make([]any, len(list))
	for i, x := range list {
		text, ok := r.phrase(x.expr, x.kind)
		if !ok {
			return "", false
		}
		said[i] = text
	}
	return fmt.Sprintf(format, said...), true
}

// along says a position along an edge or a path: from its end if it is negative.
func (r *reader) along(e syntax.Expr) (string, bool) {
	if u, ok := e.(*syntax.UnaryExpr); ok && u.Op == syntax.MINUS {
		return r.all("%s before its end", of(u.X, style.KindLength))
	}
	return r.all("%s along", of(e, style.KindLength))
}

func (r *reader) literal(l *syntax.Literal, kind style.Kind) (string, bool) {
	switch v := l.Value.(type) {
	case string:
		return quoted(v, kind), true
	case int64:
		return r.number(float64(v), kind), true
	case float64:
		return r.number(v, kind), true
	}
	return "", false
}

// quoted says a string: names as words, texts in quotes.
func quoted(s string, kind style.Kind) string {
	switch kind {
	case style.KindText, style.KindTexts, style.KindAny, "":
		if !strings.ContainsAny(s, " .") && s != "" {
			return nameWords(s)
		}
		return "“" + s + "”"
	}
	return nameWords(s)
}

// number says a number.
func (r *reader) number(v float64, kind style.Kind) string {
	switch kind {
	case style.KindLength, style.KindLengths, style.KindPosition, style.KindLimits:
		return r.unit.Said(v)
	case style.KindAngle, style.KindDirection:
		return strconv.FormatFloat(v, 'f', -1, 64) + " degrees"
	case style.KindShare:
		if v == 0.5 {
			return "half"
		}
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// variable says a variable.
func (r *reader) variable(name string, kind style.Kind) string {
	switch name {
	case "True":
		if kind == style.KindYesNo {
			return ""
		}
		return "yes"
	case "False":
		if kind == style.KindYesNo {
			return "not "
		}
		return "no"
	case "None":
		return "nothing"
	}
	if kind == style.KindPiece || kind == style.KindShape || kind != style.KindAny && r.kinds[name] == style.KindPiece {
		return "the " + nameWords(name)
	}
	return nameWords(name)
}

// field says a value of the body, of the order, of the block, or of a piece, path or
// point.
func (r *reader) field(e *syntax.DotExpr, kind style.Kind) (string, bool) {
	name := nameWords(e.Name.Name)
	switch nameOf(e.X) {
	case "body":
		return "the " + name, true
	case "ease":
		return "the ease in the " + name, true
	case "choose":
		if r.choices[e.Name.Name] == style.KindYesNo && kind != style.KindYesNo {
			return "the customer chose " + name, true
		}
		return "the chosen " + name, true
	case "block":
		return "the block's " + name, true
	}
	base, ok := r.phrase(e.X, style.KindPiece)
	switch name {
	case "reversed":
		return base + " reversed", ok
	case "x":
		return "how far right " + base + " lies", ok
	case "y":
		return "how far down " + base + " lies", ok
	case "start direction":
		return "the direction in which " + base + " starts", ok
	case "end direction":
		return "the direction in which " + base + " ends", ok
	}
	return "the " + name + " of " + base, ok
}

func (r *reader) unary(e *syntax.UnaryExpr, kind style.Kind) (string, bool) {
	switch e.Op {
	case syntax.MINUS:
		return r.all("−%s", of(e.X, kind))
	case syntax.NOT:
		return r.all("not %s", of(e.X, style.KindCondition))
	}
	return "", false
}

// operators are the words for operators between two values of the same kind.
var operators = map[syntax.Token]string{
	syntax.EQL: "%s is %s", syntax.NEQ: "%s is not %s", syntax.GE: "%s is at least %s", syntax.GT: "%s is more than %s",
	syntax.LE: "%s is at most %s", syntax.LT: "%s is less than %s", syntax.IN: "%s is one of %s",
	syntax.NOT_IN: "%s is none of %s", syntax.AND: "%s and %s", syntax.OR: "%s or %s", syntax.PLUS: "%s plus %s",
	syntax.MINUS: "%s minus %s",
}

// fractions are the words for common factors.
var fractions = map[float64]string{0.5: "half of ", 0.25: "a quarter of ", 2: "twice "}

func (r *reader) binary(e *syntax.BinaryExpr, kind style.Kind) (string, bool) {
	x, y := r.kindOf(e.X), r.kindOf(e.Y)
	switch e.Op {
	case syntax.STAR:
		if v, ok := numberOf(e.X); ok {
			if word := fractions[v]; word != "" {
				return r.all(word+"%s", of(e.Y, kind))
			}
		}
		return r.all("%s times %s", of(e.X, factorKind(x, kind)), of(e.Y, factorKind(y, kind)))
	case syntax.SLASH:
		return r.all("%s divided by %s", of(e.X, factorKind(x, kind)), of(e.Y, y))
	case syntax.PERCENT:
		return r.template(e)
	case syntax.AND, syntax.OR:
		return r.all(operators[e.Op], of(e.X, style.KindCondition), of(e.Y, style.KindCondition))
	}
	format, ok := operators[e.Op]
	if !ok {
		return "", false
	}
	sum := e.Op == syntax.PLUS || e.Op == syntax.MINUS
	if sum && kind != style.KindCondition && kind != style.KindAny && kind != "" {
		return r.all(format, of(e.X, kind), of(e.Y, kind))
	}
	same := x
	if isPlain(x) {
		same = y
	}
	if isText(same) && e.Op == syntax.PLUS {
		format = "%s, followed by %s"
	}
	return r.all(format, of(e.X, same), of(e.Y, same))
}

// factorKind returns the kind as which to say a factor: a plain number stays one.
func factorKind(own, whole style.Kind) style.Kind {
	if isPlain(own) {
		return style.KindNumber
	}
	return whole
}

// isPlain reports whether values of the kind can be numbers without a unit.
func isPlain(k style.Kind) bool {
	return k == "" || k == style.KindNumber || k == style.KindAny
}

func isText(k style.Kind) bool { return k == style.KindText || k == style.KindTexts }

// template says a text with values in it.
func (r *reader) template(e *syntax.BinaryExpr) (string, bool) {
	text, ok := stringOf(e.X)
	values := []syntax.Expr{e.Y}
	if t, isTuple := unparen(e.Y).(*syntax.TupleExpr); isTuple {
		values = t.List
	}
	pieces := strings.Split(text, "%")
	if !ok || len(pieces) != len(values)+1 {
		return "", false
	}
	said := pieces[0]
	for i, after := range pieces[1:] {
		value, ok := r.phrase(values[i], r.kindOf(values[i]))
		if !ok || after == "" || !strings.Contains("sd", after[:1]) {
			return "", false
		}
		said += "[" + value + "]" + after[1:]
	}
	return "“" + said + "”", true
}

func unparen(e syntax.Expr) syntax.Expr {
	for {
		p, ok := e.(*syntax.ParenExpr)
		if !ok {
			return e
		}
		e = p.X
	}
}

// elementKind returns the kind of an element of a list.
func elementKind(kind style.Kind) style.Kind {
	switch kind {
	case style.KindPieces:
		return style.KindPiece
	case style.KindPoints:
		return style.KindPoint
	case style.KindLengths:
		return style.KindLength
	}
	return kind
}

func (r *reader) list(list []syntax.Expr, kind style.Kind) (string, bool) {
	if kind == style.KindFits || kind == style.KindChoices {
		return fmt.Sprintf("%d %s", len(list), kind), true
	}
	var said []string
	for _, e := range list {
		text, ok := r.phrase(e, elementKind(kind))
		if !ok {
			return "", false
		}
		said = append(said, text)
	}
	if len(said) == 0 {
		return "nothing", true
	}
	return joined(said), true
}

func (r *reader) tuple(e *syntax.TupleExpr, kind style.Kind) (string, bool) {
	switch {
	case kind == style.KindRange && len(e.List) == 2:
		return r.all("%s to %s", of(e.List[0], style.KindNumber), of(e.List[1], style.KindNumber))
	case kind == style.KindPosition && len(e.List) == 2:
		return r.all("%[2]s along the %[1]s", of(e.List[0], style.KindEdge), of(e.List[1], style.KindLength))
	case kind == style.KindLimits && len(e.List) == 2:
		return r.all("%s to %s", of(e.List[0], style.KindLength), of(e.List[1], style.KindLength))
	}
	return r.list(e.List, kind)
}

// places are the words for elements of a list.
var places = map[float64]string{0: "the first of ", 1: "the second of ", 2: "the third of ", -1: "the last of "}

func (r *reader) index(e *syntax.IndexExpr, kind style.Kind) (string, bool) {
	if table, ok := e.X.(*syntax.DictExpr); ok {
		return r.table(table, e.Y, kind)
	}
	if v, ok := numberOf(e.Y); ok && places[v] != "" {
		return r.all(places[v]+"%s", of(e.X, style.KindAny))
	}
	return "", false
}

// table says a value looked up in a table.
func (r *reader) table(table *syntax.DictExpr, key syntax.Expr, kind style.Kind) (string, bool) {
	said, ok := r.all("what goes with %s: ", of(key, style.KindAny))
	var entries []string
	for _, e := range table.List {
		entry := e.(*syntax.DictEntry)
		text, ok2 := r.all("with %s %s", of(entry.Key, style.KindAny), of(entry.Value, kind))
		ok = ok && ok2
		entries = append(entries, text)
	}
	return said + strings.Join(entries, "; "), ok
}

func (r *reader) comprehension(e *syntax.Comprehension, kind style.Kind) (string, bool) {
	if e.Curly {
		return "", false
	}
	said, ok := r.phrase(e.Body, elementKind(kind))
	for _, c := range e.Clauses {
		text := ""
		ok2 := false
		switch c := c.(type) {
		case *syntax.ForClause:
			if call, isCall := c.X.(*syntax.CallExpr); isCall && nameOf(call.Fn) == "range" && len(call.Args) == 1 {
				text, ok2 = r.all(", for each "+listWords(targets(c.Vars))+" below %s", of(call.Args[0], style.KindCount))
			} else {
				text, ok2 = r.all(" for each "+listWords(targets(c.Vars))+" of %s", of(c.X, style.KindAny))
			}
		case *syntax.IfClause:
			text, ok2 = r.all(", if %s", of(c.Cond, style.KindCondition))
		}
		said, ok = said+text, ok && ok2
	}
	return said, ok
}
