package workroom

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tapeline/service"
	"tapeline/service/styles"
)

// readEdit reads from a form how a script is changed by one of its sentences:
//
//	act           set_blank, set_argument, offer_choice, add_sentence, remove_sentence or move_sentence
//	start, end    the bytes of the blank or the sentence
//	param, name   set_argument: the blank, and the name of the argument if the script chooses it
//	form, ...     set_blank, set_argument: the value; see value
//	name, help, min, max   offer_choice
//	verb, before, to       add_sentence, with arg.N.param, arg.N.name, arg.N.form and so on from N = 0
//	down          move_sentence
//
// Lengths are in unit, before and down are yes or not there. The faults name the field.
func readEdit(form url.Values, script *styles.Sentences, unit styles.Unit) (styles.Edit, service.Faults) {
	var faults service.Faults
	f := fields{form: form, unit: unit, faults: &faults}
	e := styles.Edit{Act: styles.EditAct(f.text("act")), Param: f.text("param"), Name: f.text("name"),
		Before: f.text("before") == "yes", Down: f.text("down") == "yes"}
	e.At.Start, e.At.End = f.count("start"), f.count("end")
	switch e.Act {
	case styles.SetBlank:
		blank, ok := styles.BlankAt(script, e.At)
		if !ok {
			f.fault("start", "the script has no blank there; load the page again")
			break
		}
		if e.Value = f.value(blank.Kind); f.unchanged(blank) {
			e.Value = blank.Value
		}
	case styles.SetArgument:
		x, _ := styles.SentenceAt(script, e.At)
		if p, ok := paramOf(x.Verb, e.Param); ok {
			if f.text("form") != "" { // otherwise it is left out
				kind := p.Kind
				if kind == "table" {
					kind = script.EntryKind(p.Name, e.Name)
				}
				e.Value = f.value(kind)
			}
		} else {
			f.fault("param", "a blank of the sentence")
		}
	case styles.OfferChoice:
		f.choice(&e, script)
	case styles.AddSentence:
		f.call(&e)
	case styles.RemoveSentence, styles.MoveSentence:
	default:
		f.fault("act", "set_blank, set_argument, offer_choice, add_sentence, remove_sentence or move_sentence")
	}
	return e, faults
}

// choice reads what lets the customer choose the number in a blank.
func (f fields) choice(e *styles.Edit, script *styles.Sentences) {
	blank, _ := styles.BlankAt(script, e.At)
	length, before := styles.IsLength(blank.Kind), len(*f.faults)
	e.Choice.Name, e.Choice.Help = slugged(e.Name), f.text("help")
	e.Choice.Min, e.Choice.Max = f.number("min", length), f.number("max", length)
	usual, said := blank.Value.Number, written(blank.Value.Number)
	if length {
		said = f.unit.Said(usual)
	}
	if len(*f.faults) == before && (e.Choice.Min > usual || e.Choice.Max < usual || e.Choice.Min == e.Choice.Max) {
		f.fault("min", "limits around the usual "+said)
	}
	if e.Choice.Name == "" {
		f.fault("name", "a short name, such as neck depth")
	}
	if e.Choice.Help == "" {
		f.fault("help", "what the customer is told about it")
	}
}

// unchanged reports whether the fields are as the form of a blank shows them when it
// opens: what the page rounds is then not changed.
func (f fields) unchanged(b styles.Blank) bool {
	for _, w := range (&surroundings{unit: f.unit}).waysOf(b.Kind, b.Value, b.Of, "") {
		if !w.Chosen || w.Form != f.text("form") {
			continue
		}
		for _, shown := range w.Fields {
			name := shown.Name
			if !f.form.Has(name) {
				name = name[strings.LastIndex(name, ".")+1:]
			}
			if shown.Kind == "checks" || f.text(name) != shown.now() {
				return false
			}
		}
		return true
	}
	return false
}

// slugged writes a name as scripts have it: neck depth is neck_depth.
func slugged(name string) string { return strings.Join(strings.Fields(strings.ToLower(name)), "_") }

// paramOf returns a blank of a verb's sentence.
func paramOf(verb, name string) (styles.Param, bool) {
	params := styles.Params(verb)
	i := slices.IndexFunc(params, func(p styles.Param) bool { return p.Name == name })
	if i < 0 {
		return styles.Param{}, false
	}
	return params[i], true
}

// fields reads the fields of a form whose names begin with a prefix.
type fields struct {
	form   url.Values
	prefix string
	unit   styles.Unit
	faults *service.Faults
}

func (f fields) text(name string) string { return strings.TrimSpace(f.form.Get(f.prefix + name)) }

func (f fields) fault(name, accepted string) {
	*f.faults = append(*f.faults, service.Fault{Field: f.prefix + name, Value: f.text(name), Accepted: accepted})
}

// count reads a number of bytes.
func (f fields) count(name string) int {
	n, err := strconv.Atoi(f.text(name))
	if err != nil || n < 0 {
		f.fault(name, "a place in the script")
	}
	return n
}

// number reads a number, from the unit of the page in mm if it is a length.
func (f fields) number(name string, length bool) float64 {
	v, err := parseNumber(f.text(name))
	switch {
	case err == nil && length:
		return f.unit.MM(v)
	case err == nil:
		return v
	case !length:
		f.fault(name, "a number, such as 0.5")
	case f.unit == "inch":
		f.fault(name, "a number of inches, such as 1 1/2")
	default:
		f.fault(name, "a number of cm, such as 3.5")
	}
	return 0
}

// parseNumber reads a decimal number with a point or comma, or with a fraction: 1 1/2.
func parseNumber(text string) (float64, error) {
	text = strings.NewReplacer(",", ".", "−", "-").Replace(strings.TrimSpace(text))
	text, negative := strings.CutPrefix(text, "-")
	sum, words := 0.0, strings.Fields(text)
	if len(words) == 0 || len(words) > 2 {
		return 0, errors.New("want a number")
	}
	for i, word := range words {
		above, below, fraction := strings.Cut(word, "/")
		v, err := strconv.ParseFloat(above, 64)
		if err != nil || strings.ContainsAny(above, "+-xXpPnN_") || fraction != (i == 1) && len(words) == 2 {
			return 0, errors.New("want a number")
		}
		if fraction {
			divisor, err := strconv.ParseUint(below, 10, 16)
			if err != nil || divisor == 0 {
				return 0, errors.New("want a number")
			}
			v /= float64(divisor)
		}
		sum += v
	}
	if negative {
		sum = -sum
	}
	return sum, nil
}

// value reads what fills a blank of a kind. Its form says which fields there are:
//
//	number                number
//	numbers               number: several, separated by semicolons
//	word, yesno, variable, chosen   word
//	words                 word: one a line
//	measurement           word, times, plus
//	edge_length           piece, the variable that holds it, and word; or word alone: piece/edge; plus
//	position              word, the edge, and number
//	range                 min, max
//	list                  word, repeated: variables
//	phrase, by_hand       script
//
// A field of one form can also be named after it: measurement.word.
func (f fields) value(kind styles.Kind) styles.Value {
	form := f.text("form")
	own := f
	own.prefix += form + "."
	at := func(name string) fields {
		if own.form.Has(own.prefix + name) {
			return own
		}
		return f
	}
	text := func(name string) string { return at(name).text(name) }
	number := func(name string) float64 { return at(name).number(name, styles.IsLength(kind)) }
	v := styles.Value{Form: "by_hand"}
	switch form {
	case "number":
		v = styles.Value{Form: "number", Number: number("number")}
	case "numbers":
		v.Script = at("number").numbers("number", styles.IsLength(kind))
	case "word", "yesno", "variable", "chosen":
		v = styles.Value{Form: styles.ValueForm(form), Word: text("word")}
	case "words":
		v = styles.Value{Form: "words", Words: lines(text("word"))}
	case "measurement", "edge_length":
		v = styles.Value{Form: styles.ValueForm(form), Word: text("word"), Piece: text("piece")}
		if text("plus") != "" {
			v.Plus = at("plus").number("plus", true)
		}
		if text("times") != "" {
			v.Times = at("times").number("times", false)
		}
		if piece, edge, ok := strings.Cut(v.Word, "/"); ok && v.Piece == "" {
			v.Piece, v.Word = piece, edge
		}
	case "position":
		v.Script = fmt.Sprintf("(%q, %s)", text("word"), written(number("number")))
	case "range":
		v.Script = fmt.Sprintf("(%s, %s)", written(number("min")), written(number("max")))
	case "list":
		v.Script = "[" + strings.Join(at("word").form[at("word").prefix+"word"], ", ") + "]"
	case "phrase", "by_hand":
		v.Script = text("script")
		if v.Script == "" {
			at("script").fault("script", "a value as the script writes it")
		}
	default:
		f.fault("form", "number, numbers, word, words, yesno, variable, chosen, measurement, "+
			"edge_length, position, range, list or by_hand")
	}
	return v
}

// numbers reads several numbers, and returns them as the script writes a list.
func (f fields) numbers(name string, length bool) string {
	var list []string
	for part := range strings.SplitSeq(f.text(name), ";") {
		one := fields{form: url.Values{name: {part}}, unit: f.unit, faults: new(service.Faults)}
		list = append(list, written(one.number(name, length)))
		if len(*one.faults) > 0 {
			f.fault(name, (*one.faults)[0].Accepted+"; several are separated by semicolons")
			break
		}
	}
	return "[" + strings.Join(list, ", ") + "]"
}

// lines returns the lines of a text that are not empty.
func lines(text string) []string {
	var list []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" {
			list = append(list, line)
		}
	}
	return list
}

// written writes a number as the script does.
func written(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// maxArgs is the number of blanks that a sentence can have.
const maxArgs = 40

// call reads a sentence to add. A blank without a form, or whose field is empty and
// which can be left out, is left out.
func (f fields) call(e *styles.Edit) {
	e.Call.Verb = f.text("verb")
	if styles.Params(e.Call.Verb) == nil {
		f.fault("verb", "a verb of the reference")
		return
	}
	for name := range strings.SplitSeq(f.text("to"), ",") {
		if name = strings.TrimSpace(name); name != "" {
			e.Call.To = append(e.Call.To, slugged(name))
		}
	}
	for n := range maxArgs {
		arg := f
		arg.prefix += "arg." + strconv.Itoa(n) + "."
		p, ok := paramOf(e.Call.Verb, arg.text("param"))
		switch {
		case !arg.form.Has(arg.prefix+"param") || arg.text("form") == "":
		case !ok:
			arg.fault("param", "a blank of the sentence")
		default:
			v := arg.value(p.Kind)
			if v.Word == "" && v.Words == nil && (p.Kind == "name" || p.Kind == "names") && v.Form != "by_hand" {
				continue // it is named after its title
			}
			e.Call.Args = append(e.Call.Args, styles.Arg{Param: p.Name, Name: slugged(arg.text("name")), Value: v})
		}
	}
}

// inUnit writes a length as a field of the page has it.
func inUnit(unit styles.Unit, mm float64) string {
	if unit == "inch" {
		return unit.Tape(mm)
	}
	return written(unit.From(mm))
}
