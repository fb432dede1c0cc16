package workroom

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tapeline/service/styles"
)

// adding is the list of sentences that can be added, or the form of one of them.
type adding struct {
	Said   string // what was picked, "" if anything can be said
	Groups []offerGroup
	Verb   string // of the form, "" of a list
	About  string
	Parts  []part // of its sentence
	Args   []argForm
	Edit   string
	Faults []string
	Back   string // the fields that lead to the list
}

type offerGroup struct {
	Title  string
	Offers []offerView
}

// offerView is a sentence that can be added.
type offerView struct {
	Verb, Text string
	Parts      []part
	Fields     string
}

// argForm is a blank of a sentence to add.
type argForm struct {
	Title, Param, Prefix string
	Names                *field
	Ways                 []way
}

// pickOf reads what was picked in the picture.
func pickOf(form url.Values, read *styles.Sentences, tried styles.Tried) styles.Pick {
	kind := styles.Kind(form.Get("pick_kind"))
	if kind == "" {
		return styles.Pick{}
	}
	return styles.PickIn(read, tried, kind, form.Get("pick_piece"), form.Get("pick_name"))
}

// pickFields are the fields of a form that say what was picked, and where the sentence
// is added.
func pickFields(form url.Values) []string {
	var pairs []string
	for _, name := range []string{"pick_kind", "pick_piece", "pick_name", "at"} {
		if form.Get(name) != "" {
			pairs = append(pairs, name, form.Get(name))
		}
	}
	return pairs
}

// addingFor returns what can be added, or with the field verb the form of a sentence.
func addingFor(form url.Values, read *styles.Sentences, tried styles.Tried, unit styles.Unit) *adding {
	pick := pickOf(form, read, tried)
	a := &adding{Verb: form.Get("verb")}
	if pick.Kind != "" {
		a.Said = strings.TrimSpace(words(pick.Piece + " " + pick.Name))
	}
	more := pickFields(form)
	a.Back = fieldsOf(append([]string{"offer", "all"}, more...)...)
	offers := offersFor(pick)
	if a.Verb == "" {
		a.list(offers, more, unit)
		return a
	}
	i := slices.IndexFunc(styles.Verbs(), func(w styles.Word) bool { return w.Name == a.Verb })
	if i < 0 {
		a.Verb = ""
		a.list(offers, more, unit)
		return a
	}
	word := styles.Verbs()[i]
	a.About, a.Parts = word.Doc, sentenceParts(word.Sentence)
	var offer styles.Offer
	if j := slices.IndexFunc(offers, func(o styles.Offer) bool { return o.Verb == a.Verb }); j >= 0 {
		offer = offers[j]
	}
	_, at, ok := readPlace(form.Get("at"))
	offset := endOfMake(read)
	if ok {
		offset = at.End
	}
	a.form(surroundingsOf(read, tried, unit, offset), offer)
	a.Edit = editOf(styles.AddSentence, at, "verb", a.Verb)
	return a
}

// endOfMake returns where the function make ends, from which all its variables are seen.
func endOfMake(read *styles.Sentences) int {
	for _, s := range read.Sections {
		if n := len(s.Statements); s.Name == "make" && n > 0 {
			return s.Statements[n-1].End
		}
	}
	return len(read.Source())
}

// offersFor returns what can be said of a pick, or without one every instruction.
func offersFor(pick styles.Pick) []styles.Offer {
	if pick.Kind != "" {
		return styles.Offers(pick)
	}
	return nil
}

// list fills in the sentences by their groups in the reference.
func (a *adding) list(offers []styles.Offer, more []string, unit styles.Unit) {
	for _, w := range styles.Verbs() {
		i := slices.IndexFunc(offers, func(o styles.Offer) bool { return o.Verb == w.Name })
		offered := i >= 0
		if a.Said != "" && !offered || a.Said == "" && !w.Acts && w.Group != "Notions" || w.Group == "Head" {
			continue
		}
		if len(a.Groups) == 0 || a.Groups[len(a.Groups)-1].Title != w.Group {
			a.Groups = append(a.Groups, offerGroup{Title: w.Group})
		}
		g := &a.Groups[len(a.Groups)-1]
		view := offerView{Verb: w.Name, Parts: sentenceParts(w.Sentence)}
		if offered {
			guessed(view.Parts, offers[i], unit)
		}
		view.Fields = fieldsOf(append([]string{"offer", "one", "verb", w.Name}, more...)...)
		g.Offers = append(g.Offers, view)
	}
}

// guessed says the first guesses of an offer in the blanks of its sentence.
func guessed(parts []part, o styles.Offer, unit styles.Unit) {
	next := map[string]int{}
	for i := range parts {
		p := &parts[i]
		if !p.Blank {
			continue
		}
		param, _ := paramOf(o.Verb, p.Key)
		var given []styles.Arg
		for _, arg := range o.Args {
			if arg.Param == p.Key {
				given = append(given, arg)
			}
		}
		if n := next[p.Key]; n < len(given) {
			if text := guessWords(given[n], param, p.Open, unit); text != "" {
				p.Words = text
			}
		}
		if p.Open || !styles.TakesNames(param) { // the name comes last
			next[p.Key]++
		}
	}
}

// guessWords says a guess, or the name of its argument.
func guessWords(arg styles.Arg, param styles.Param, name bool, unit styles.Unit) string {
	v := arg.Value
	switch {
	case name:
		return words(arg.Name)
	case v.Form == "number" && styles.IsLength(param.Kind):
		return unit.Said(v.Number)
	case v.Form == "number":
		return written(v.Number)
	case v.Form == "word":
		return strings.ReplaceAll(words(v.Word), "/", " ")
	case v.Form == "variable":
		return "the " + words(strings.TrimPrefix(v.Word, "block."))
	case v.Form == "edge_length":
		return "the length of the " + words(v.Word)
	}
	return ""
}

// sentenceParts reads a verb's sentence with {blanks}: what stands in brackets can be
// left out, and is not shown.
func sentenceParts(text string) []part {
	var parts []part
	depth := 0
	for text != "" {
		i := strings.IndexAny(text, "[]<>{")
		if i < 0 {
			i = len(text)
		}
		if i > 0 && depth == 0 {
			parts = append(parts, part{Words: text[:i]})
		}
		if text = text[i:]; text == "" {
			break
		}
		switch text[0] {
		case '[':
			depth++
		case ']':
			depth--
		case '{':
			name, after, _ := strings.Cut(text[1:], "}")
			if depth == 0 {
				param, ofName := strings.CutSuffix(name, ".name")
				parts = append(parts, part{Words: words(param), Key: param, Blank: true, Open: ofName})
			}
			text = after
			continue
		}
		text = text[1:]
	}
	return parts
}

// form fills in the blanks of the sentence, with the first guesses of an offer.
func (a *adding) form(around *surroundings, offer styles.Offer) {
	piece := ""
	add := func(q styles.Param, name string, v styles.Value) {
		prefix := "arg." + strconv.Itoa(len(a.Args)) + "."
		f := argForm{Title: words(q.Name), Param: q.Name, Prefix: prefix, Ways: around.waysOf(q.Kind, v, piece, prefix)}
		if styles.TakesNames(q) {
			f.Names = around.namesOf(q, piece, prefix+"name", name)
		}
		if !q.Required() {
			out := way{Name: prefix + "form", Words: "leave out", Chosen: v.Form == ""}
			for i := range f.Ways {
				f.Ways[i].Chosen = f.Ways[i].Chosen && !out.Chosen
			}
			f.Ways = append([]way{out}, f.Ways...)
		}
		a.Args = append(a.Args, f)
	}
	for _, q := range styles.Params(a.Verb) {
		given := 0
		for _, g := range offer.Args {
			if g.Param != q.Name {
				continue
			}
			add(q, g.Name, g.Value)
			given++
			if piece == "" && (q.Kind == "piece" || q.Kind == "shape") {
				piece = g.Value.Word
			}
		}
		if piece == "" && (q.Kind == "piece" || q.Kind == "shape") && len(around.pieces) > 0 {
			piece = around.pieces[0]
		}
		if given == 0 || styles.TakesSeveral(q) {
			add(q, "", styles.Value{})
		}
	}
}
