package sentence

import (
	"reflect"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// Calls are the calls of a draft, by their place in the script: the last of several.
type Calls map[style.Place]*style.TracedCall

// CallsOf returns the calls of a traced draft.
func CallsOf(t *style.Trace) Calls {
	all := Calls{}
	for i := range t.Calls() {
		c := &t.Calls()[i]
		all[c.At] = c
	}
	return all
}

// Fill returns a sentence with the values of the draft in its blanks, lengths in unit.
// It returns false for an instruction that the draft did not need.
func (c Calls) Fill(x Sentence, unit body.Unit) (text string, made bool) {
	call := c[style.Place{Line: x.Line, Column: x.Column}]
	if x.Verb == "" || inHead(x.Verb) {
		return x.Text(), true
	}
	if call == nil || call.Verb().Name() != x.Verb {
		return x.Text(), false
	}
	var b strings.Builder
	next := map[string]int{}
	for _, p := range x.Parts {
		b.WriteString(p.Words)
		if p.Blank != nil {
			b.WriteString(filled(call, p.Blank, next[p.Blank.Param], unit))
			next[p.Blank.Param]++
		}
	}
	return b.String(), true
}

func inHead(verb string) bool { return verb == "style" || verb == "fit" || verb == "choice" }

// filled says the value that a blank had in a call: a number or a text that the script
// works out. i counts the arguments of a parameter that takes several.
func filled(call *style.TracedCall, b *Blank, i int, unit body.Unit) string {
	switch b.Value.Form {
	case Number, Word, Words, YesNo:
		return b.Said
	}
	args := call.Arguments(b.Param)
	if b.Name != "" {
		i = max(0, slices.IndexFunc(args, func(d style.Datum) bool { return d.Name == b.Name }))
	}
	if i >= len(args) {
		return b.Said
	}
	switch d := args[i]; d.Kind {
	case style.KindNumber, style.KindText, style.KindTexts, style.KindLengths, style.KindPosition:
		return said(d, b.Kind, unit)
	}
	return b.Said
}

// SameScript reports whether two scripts are equal except for their layout: positions,
// brackets and the way a literal is written.
func SameScript(a, b *syntax.File) bool { return slices.Equal(outline(a), outline(b)) }

// outline lists the nodes of a script in their order.
func outline(f *syntax.File) []string {
	var all []string
	syntax.Walk(f, func(n syntax.Node) bool {
		switch n := n.(type) {
		case nil:
			all = append(all, "end")
		case *syntax.Ident:
			all = append(all, n.Name)
		case *syntax.Literal:
			all = append(all, literalText(n))
		case *syntax.BinaryExpr:
			all = append(all, n.Op.String())
		case *syntax.UnaryExpr:
			all = append(all, n.Op.String())
		case *syntax.AssignStmt:
			all = append(all, n.Op.String())
		case *syntax.BranchStmt:
			all = append(all, n.Token.String())
		default:
			all = append(all, reflect.TypeOf(n).String())
		}
		return true
	})
	return all
}

func literalText(l *syntax.Literal) string {
	switch v := l.Value.(type) {
	case string:
		return "text " + v
	case int64, float64:
		return "number " + l.Raw
	}
	return l.Raw
}
