package sentence

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// Every edit returns the new text of the script. It changes the characters that it is
// about. The error says why the script would no longer compile, or what is accepted.

// Set fills in the blank at a place.
func (s *Script) Set(at Span, v Value) (string, error) {
	blank, ok := s.blankAt(at)
	if !ok {
		return "", fmt.Errorf("no blank at characters %d to %d", at.Start, at.End)
	}
	if reflect.DeepEqual(v, blank.Value) {
		return s.source, nil // as it is written
	}
	text, err := s.written(v, blank.Kind)
	if err != nil {
		return "", s.errorAt(at.Start, "%s: %w", blank.Param, err)
	}
	return s.replaceExpr(at, s.broken(at.Start, v, text))
}

// widest is the number of characters of several texts on one line.
const widest = 80

// broken returns a value that is written at an offset, several long texts each on a line
// of its own.
func (s *Script) broken(at int, v Value, text string) string {
	if v.Form != Words || len(text) <= widest {
		return text
	}
	indent, _ := s.indentOf(at)
	var b strings.Builder
	b.WriteString("[")
	for _, w := range v.Words {
		b.WriteString("\n" + indent + "    " + syntax.Quote(w, false) + ",")
	}
	return b.String() + "\n" + indent + "]"
}

// SetArgument fills in a blank that the call at a place leaves out, or with the zero
// Value leaves it out. name is that of an argument whose name the script chooses.
func (s *Script) SetArgument(call Span, param, name string, v Value) (string, error) {
	node, _ := s.find(call)
	c, verb, args, err := s.verbCall(node)
	if err != nil {
		return "", s.errorAt(call.Start, "%w", err)
	}
	p, ok := paramNamed(verb.Params(), param)
	if !ok || p.Name != param {
		return "", s.errorAt(call.Start, "%s has no blank %q; it has %v", verb.Name(), param, paramNames(verb))
	}
	if p.Kind == style.KindTable && name != "" {
		return s.setEntry(c, p, args[param], name, v)
	}
	for _, a := range args[param] {
		if a.name != name && p.Rest == style.Named {
			continue
		}
		if v.Form == "" {
			return s.removeArgument(c, a, p)
		}
		return s.Set(s.span(a.expr), v)
	}
	if v.Form == "" {
		return s.source, nil
	}
	text, err := s.written(v, p.Kind)
	if err != nil {
		return "", s.errorAt(call.Start, "%s: %w", param, err)
	}
	switch p.Rest {
	case style.Single:
		return s.insertArgument(c, verb, param, text)
	case style.Named:
		if !identifier.MatchString(name) {
			return "", s.errorAt(call.Start, "%s: the name %q: want lower case letters, digits and _", param, name)
		}
		text = name + " = " + text
	}
	return s.appendArgument(c, text)
}

// insertArgument gives a call a named argument, in the order of the verb's parameters.
func (s *Script) insertArgument(c *syntax.CallExpr, verb style.Verb, param, text string) (string, error) {
	i := s.argumentPlace(c, verb, param, param+" = "+text)
	return s.checked(s.apply([]insertion{i}))
}

// argumentPlace returns a further named argument of a call: before the first one that
// comes after it in the order of the parameters.
func (s *Script) argumentPlace(c *syntax.CallExpr, verb style.Verb, param, text string) insertion {
	order := paramNames(verb)
	for _, a := range c.Args {
		named, ok := a.(*syntax.BinaryExpr)
		if ok && named.Op == syntax.EQ && slices.Index(order, nameOf(named.X)) > slices.Index(order, param) {
			at := s.span(a)
			return insertion{Span{at.Start, at.Start}, text + s.separatorAfter(at)}
		}
	}
	if len(c.Args) == 0 {
		at := s.offset(c.Rparen)
		return insertion{Span{at, at}, text}
	}
	last := s.span(c.Args[len(c.Args)-1])
	return insertion{Span{last.End, last.End}, s.separatorAfter(last) + text}
}

// appendArgument gives a call a further argument, on a line of its own if the last one
// has one.
func (s *Script) appendArgument(c *syntax.CallExpr, text string) (string, error) {
	at := s.offset(c.Rparen)
	if len(c.Args) > 0 {
		last := s.span(c.Args[len(c.Args)-1])
		at, text = last.End, s.separatorAfter(last)+text
	}
	return s.checked(s.source[:at] + text + s.source[at:])
}

// removeArgument leaves an optional argument of a call out.
func (s *Script) removeArgument(c *syntax.CallExpr, a argument, p style.Param) (string, error) {
	if p.Required() {
		return "", s.errorAt(s.offset(c.Lparen), "%s is required", p.Name)
	}
	i := slices.IndexFunc(c.Args, func(e syntax.Expr) bool {
		named, ok := e.(*syntax.BinaryExpr)
		return e == a.expr || ok && named.Op == syntax.EQ && named.Y == a.expr
	})
	return s.removeElement(c.Args, i)
}

// removeElement removes an element of a list in brackets, with a comma.
func (s *Script) removeElement(list []syntax.Expr, i int) (string, error) {
	at := s.elementSpan(list, i)
	return s.checked(s.source[:at.Start] + s.source[at.End:])
}

// elementSpan returns the range of an element of a list with the comma that goes with it.
func (s *Script) elementSpan(list []syntax.Expr, i int) Span {
	at := s.span(list[i])
	switch {
	case i > 0:
		at.Start = s.span(list[i-1]).End
	case len(list) > 1:
		at.End = s.span(list[1]).Start
	default:
		at.End = s.afterComma(at.End)
	}
	return at
}

// afterComma returns the offset after a comma that follows, if one does.
func (s *Script) afterComma(at int) int {
	rest := s.source[at:]
	if trimmed := strings.TrimLeft(rest, " \t\r\n"); strings.HasPrefix(trimmed, ",") {
		return at + len(rest) - len(trimmed) + 1
	}
	return at
}

// A Choice is a number that becomes the customer's choice.
type Choice struct {
	Name, Help string
	Min, Max   float64
}

// Offer lets the customer choose the number in the blank at a place. The number becomes
// the usual one.
func (s *Script) Offer(at Span, c Choice) (string, error) {
	blank, ok := s.blankAt(at)
	if !ok || blank.Value.Form != Number {
		return "", s.errorAt(at.Start, "want a blank with a number")
	}
	_, path := s.find(at)
	if !receivesChoices(path) {
		return "", s.errorAt(at.Start, "the choices are not known here; give the function a parameter choose, or take "+
			"the number as one of its arguments")
	}
	kind := "length"
	switch blank.Kind {
	case style.KindCount:
		kind = "count"
	case style.KindShare, style.KindNumber:
		kind = "fraction"
	}
	usual := blank.Value.Number
	if !(c.Min < c.Max && c.Min <= usual && usual <= c.Max) {
		return "", s.errorAt(at.Start, "%s: limits %g and %g; want them around %g", c.Name, c.Min, c.Max, usual)
	}
	head := s.head()
	if head == nil {
		return "", fmt.Errorf("the script declares no style(...)")
	}
	declared := fmt.Sprintf("choice(%s, %s, %s = (%s, %s), default = %s)", syntax.Quote(c.Name, false),
		syntax.Quote(c.Help, false), kind, writeNumber(c.Min), writeNumber(c.Max), s.text(at))
	insertAt, text := s.asElement(head, declared)
	if insertAt > at.Start {
		return "", s.errorAt(at.Start, "the head comes after this line")
	}
	return s.checked(s.source[:insertAt] + text + s.source[insertAt:at.Start] + "choose." + c.Name + s.source[at.End:])
}

// receivesChoices reports whether a function with a parameter choose is around a place.
func receivesChoices(path []syntax.Node) bool {
	for _, n := range path {
		switch n := n.(type) {
		case *syntax.DefStmt:
			return slices.ContainsFunc(n.Params, func(p syntax.Expr) bool { return nameOf(p) == "choose" })
		case *syntax.LambdaExpr:
			return slices.ContainsFunc(n.Params, func(p syntax.Expr) bool { return nameOf(p) == "choose" })
		}
	}
	return false
}

// Head returns the place of the call of style, and false if there is none.
func (s *Script) Head() (at Span, ok bool) {
	if call := s.head(); call != nil {
		return s.span(call), true
	}
	return Span{}, false
}

// head returns the call of style, nil if there is none.
func (s *Script) head() *syntax.CallExpr {
	for _, stmt := range s.file.Stmts {
		if e, ok := stmt.(*syntax.ExprStmt); ok {
			if call, ok := e.X.(*syntax.CallExpr); ok && nameOf(call.Fn) == "style" {
				return call
			}
		}
	}
	return nil
}

// asElement returns where and how to write a further choice of the head.
func (s *Script) asElement(head *syntax.CallExpr, element string) (at int, text string) {
	for _, a := range head.Args {
		named, ok := a.(*syntax.BinaryExpr)
		if !ok || nameOf(named.X) != "choices" {
			continue
		}
		if list, ok := named.Y.(*syntax.ListExpr); ok {
			if len(list.List) == 0 {
				return s.offset(list.Rbrack), element
			}
			last := s.span(list.List[len(list.List)-1])
			return last.End, s.separatorAfter(last) + element
		}
	}
	first := s.span(head.Args[0])
	if indent, own := s.indentOf(first.Start); own {
		element = "\n" + indent + "    " + element + ",\n" + indent
	}
	i := s.argumentPlace(head, newReader(s).verbs["style"], "choices", "choices = ["+element+"]")
	return i.at.Start, i.text
}

// separatorAfter returns what to write between an element that is already there and a
// new one: a comma, and a new line if the element begins its own.
func (s *Script) separatorAfter(element Span) string {
	if indent, first := s.indentOf(element.Start); first {
		return ",\n" + indent
	}
	return ", "
}

// indentOf returns the white space before the line of an offset, and whether there is
// nothing else before the offset.
func (s *Script) indentOf(offset int) (indent string, first bool) {
	start := s.lines[s.lineAt(offset)-1]
	before := s.source[start:offset]
	indent = before[:len(before)-len(strings.TrimLeft(before, " \t"))]
	return indent, strings.TrimSpace(before) == ""
}

var identifier = regexp.MustCompile(`^[a-z_][a-z0-9_]*$`)

var variable = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*(\.[a-z_][a-z0-9_]*)?$`)

// written returns a value as the script writes it.
func (s *Script) written(v Value, kind style.Kind) (string, error) {
	switch v.Form {
	case Number:
		if math.IsNaN(v.Number) || math.IsInf(v.Number, 0) || math.Abs(v.Number) > 1e6 {
			return "", fmt.Errorf("got %v, want a number from -1e6 to 1e6", v.Number)
		}
	case Word:
		if words := kind.Words(); words != nil && !slices.Contains(words, v.Word) {
			return "", fmt.Errorf("%q; want one of %v", v.Word, words)
		}
	case Variable:
		if !variable.MatchString(v.Word) {
			return "", fmt.Errorf("%q; want the name of a variable", v.Word)
		}
	case Chosen:
		if newReader(s).choices[v.Word] == "" {
			return "", fmt.Errorf("the head declares no choice %q", v.Word)
		}
	case Measurement:
		if _, ok := body.Lookup(body.Name(v.Word)); !ok && v.Word != "bust_surplus" {
			return "", fmt.Errorf("unknown measurement %q", v.Word)
		}
	case EdgeLength:
		if !variable.MatchString(v.Piece) {
			return "", fmt.Errorf("%q; want the name of a piece", v.Piece)
		}
	case Phrase, ByHand:
		return expression(v.Script)
	case Words, YesNo:
	default:
		return "", fmt.Errorf("unknown form %q of a value", v.Form)
	}
	return v.write(), nil
}

// expression returns text that is one expression.
func expression(text string) (string, error) {
	text = strings.TrimSpace(text)
	e, err := style.ParseExpr(text)
	if err != nil {
		return "", err
	}
	if t, ok := e.(*syntax.TupleExpr); ok && !t.Lparen.IsValid() || strings.Contains(text, "\n") {
		text = "(" + text + ")"
	}
	return text, nil
}

// replaceExpr replaces an expression with another. What is there afterwards must be one
// expression: text cannot end it early or comment out what follows.
func (s *Script) replaceExpr(at Span, text string) (string, error) {
	out, err := s.checked(s.source[:at.Start] + text + s.source[at.End:])
	if err != nil {
		return "", err
	}
	edited, err := Read(out, s.unit)
	if err != nil {
		return "", err
	}
	if _, path := edited.find(Span{at.Start, at.Start + len(text)}); path == nil {
		return "", s.errorAt(at.Start, "%q is not one expression", text)
	}
	return out, nil
}

// checked returns the text of a script if it compiles, or parses where the script did
// not compile before.
func (s *Script) checked(text string) (string, error) {
	_, err := style.Compile([]byte(text))
	if err == nil {
		return text, nil
	}
	if _, before := style.Compile([]byte(s.source)); before == nil {
		return "", err
	}
	_, err = style.Parse([]byte(text))
	return text, err
}

// blankAt returns the blank at a place.
func (s *Script) blankAt(at Span) (*Blank, bool) {
	var found *Blank
	s.Each(func(_ Section, st *Statement) {
		for _, x := range st.Sentences {
			for _, p := range x.Parts {
				if p.Blank != nil && p.Blank.Span == at {
					found = p.Blank
				}
			}
		}
	})
	return found, found != nil
}

// find returns the expression or statement at a place and what it is in, from the
// innermost; nil if there is none.
func (s *Script) find(at Span) (syntax.Node, []syntax.Node) {
	var stack, found []syntax.Node
	syntax.Walk(s.file, func(n syntax.Node) bool {
		if n == nil {
			stack = stack[:len(stack)-1]
			return true
		}
		stack = append(stack, n)
		if _, file := n.(*syntax.File); !file && s.span(n) == at {
			found = slices.Clone(stack)
		}
		return true
	})
	if found == nil {
		return nil, nil
	}
	slices.Reverse(found)
	return found[0], found
}

// verbCall returns the call of a verb that a node is, with its arguments.
func (s *Script) verbCall(n syntax.Node) (*syntax.CallExpr, style.Verb, map[string][]argument, error) {
	if st, ok := n.(*syntax.ExprStmt); ok {
		n = st.X
	}
	e, _ := n.(syntax.Expr)
	v, call, ok := newReader(s).verbOf(e)
	if !ok {
		return nil, v, nil, fmt.Errorf("want the call of a verb")
	}
	args, err := bind(v, call)
	return call, v, args, err
}

func paramNames(v style.Verb) []string {
	var names []string
	for _, p := range v.Params() {
		names = append(names, p.Name)
	}
	return names
}
