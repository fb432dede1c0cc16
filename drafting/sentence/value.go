package sentence

import (
	"strconv"
	"strings"

	"go.starlark.net/syntax"
)

// A Form is how a value is given.
type Form string

// The forms of values.
const (
	Number      Form = "number"      // Number: mm, degrees, or without a unit
	Word        Form = "word"        // Word: the name of an edge, a text, one of a few words
	Words       Form = "words"       // Words: several
	YesNo       Form = "yesno"       // Word: yes or no
	Variable    Form = "variable"    // Word: what the script calls it
	Chosen      Form = "chosen"      // Word: a choice of the customer's
	Measurement Form = "measurement" // Times of the measurement Word, plus Plus
	EdgeLength  Form = "edge_length" // the length of the edge Word of Piece, plus Plus
	Phrase      Form = "phrase"      // Script, which words say
	ByHand      Form = "by_hand"     // Script, which no words say
)

// A Value fills a blank.
type Value struct {
	Form   Form
	Number float64
	Word   string
	Words  []string
	Piece  string
	Times  float64 // 0 is 1
	Plus   float64 // mm
	Script string  // as the script has it
}

// value returns the value of an expression. said says whether words say it.
func (r *reader) value(e syntax.Expr, said bool) Value {
	v := formOf(e)
	v.Script = r.text(r.span(e))
	if v.Form == "" {
		v.Form = Phrase
		if !said {
			v.Form = ByHand
		}
	}
	return v
}

// formOf returns an expression as a value of one of the forms that need no script, the
// zero value for others.
func formOf(e syntax.Expr) Value {
	if n, ok := numberOf(e); ok {
		return Value{Form: Number, Number: n}
	}
	if s, ok := stringOf(e); ok {
		return Value{Form: Word, Word: s}
	}
	switch e := e.(type) {
	case *syntax.Ident:
		switch e.Name {
		case "True":
			return Value{Form: YesNo, Word: "yes"}
		case "False":
			return Value{Form: YesNo, Word: "no"}
		}
		return Value{Form: Variable, Word: e.Name}
	case *syntax.ListExpr:
		if all := stringsIn(e); len(all) == len(e.List) && len(all) > 0 {
			return Value{Form: Words, Words: all}
		}
	case *syntax.BinaryExpr:
		return sumForm(e)
	}
	return termForm(e)
}

// sumForm returns a length or measurement with mm added.
func sumForm(e *syntax.BinaryExpr) Value {
	switch e.Op {
	case syntax.PLUS, syntax.MINUS:
		v := termForm(e.X)
		plus, ok := numberOf(e.Y)
		if !ok || v.Form != Measurement && v.Form != EdgeLength {
			return Value{}
		}
		v.Plus = plus
		if e.Op == syntax.MINUS {
			v.Plus = -plus
		}
		return v
	}
	return termForm(e)
}

// termForm returns a choice, a share of a measurement or the length of an edge.
func termForm(e syntax.Expr) Value {
	switch e := e.(type) {
	case *syntax.DotExpr:
		switch nameOf(e.X) {
		case "choose":
			return Value{Form: Chosen, Word: e.Name.Name}
		case "body":
			return Value{Form: Measurement, Word: e.Name.Name}
		}
	case *syntax.BinaryExpr:
		times, ok := numberOf(e.X)
		if v := termForm(e.Y); ok && e.Op == syntax.STAR && v.Form == Measurement && v.Times == 0 && times != 0 {
			v.Times = times
			return v
		}
	case *syntax.CallExpr:
		if nameOf(e.Fn) == "length" && len(e.Args) == 2 && nameOf(e.Args[0]) != "" {
			if edge, ok := stringOf(e.Args[1]); ok {
				return Value{Form: EdgeLength, Piece: nameOf(e.Args[0]), Word: edge}
			}
		}
	}
	return Value{}
}

// write returns the value as the script writes it, "" if it is of no known form.
func (v Value) write() string {
	switch v.Form {
	case Number:
		return writeNumber(v.Number)
	case Word:
		return syntax.Quote(v.Word, false)
	case Words:
		all := make([]string, len(v.Words))
		for i, w := range v.Words {
			all[i] = syntax.Quote(w, false)
		}
		return "[" + strings.Join(all, ", ") + "]"
	case YesNo:
		return map[bool]string{true: "True", false: "False"}[v.Word == "yes"]
	case Variable:
		return v.Word
	case Chosen:
		return "choose." + v.Word
	case Measurement:
		times := ""
		if v.Times != 0 && v.Times != 1 {
			times = writeNumber(v.Times) + " * "
		}
		return times + "body." + v.Word + v.plus()
	case EdgeLength:
		return "length(" + v.Piece + ", " + syntax.Quote(v.Word, false) + ")" + v.plus()
	case Phrase, ByHand:
		return v.Script
	}
	return ""
}

func (v Value) plus() string {
	switch {
	case v.Plus > 0:
		return " + " + writeNumber(v.Plus)
	case v.Plus < 0:
		return " - " + writeNumber(-v.Plus)
	}
	return ""
}

func writeNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
