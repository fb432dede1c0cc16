package workroom

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"tapeline/service/styles"
)

// panel opens below a sentence: the form of one of its blanks, or of the acts on the
// sentence.
type panel struct {
	Title  string
	Place  string // that it is opened for
	Start  int    // of the blank
	End    int
	Length bool
	Edit   string // the fields of the edit that fills in the blank, "" of a sentence
	Ways   []way
	Names  *field // of the argument, where the script chooses it
	Choice *choiceForm
	Acts   []act
	Blanks []act  // that the sentence leaves out
	Add    string // the fields that list what can be added after the sentence
	Faults []string
}

// act is a button of a panel with the fields of what it does.
type act struct{ Words, Fields string }

// choiceForm lets the customer choose a number.
type choiceForm struct{ Name, Help, Min, Max, Unit, Edit string }

// fieldsOf writes fields of a form as the value of a button.
func fieldsOf(pairs ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v.Encode()
}

func editOf(a styles.EditAct, at styles.Span, more ...string) string {
	return fieldsOf(append([]string{"act", string(a), "start", strconv.Itoa(at.Start), "end", strconv.Itoa(at.End)},
		more...)...)
}

// panelAt returns the panel for a place of the script, nil if there is none.
func panelAt(read *styles.Sentences, tried styles.Tried, unit styles.Unit, at string) *panel {
	kind, span, ok := readPlace(at)
	if !ok {
		return nil
	}
	around := surroundingsOf(read, tried, unit, span.Start)
	switch kind {
	case "blank":
		if b, ok := styles.BlankAt(read, span); ok {
			return blankPanel(read, around, b, at)
		}
	case "sentence":
		return sentencePanel(read, span, at)
	case "left-out":
		param := at[strings.LastIndex(at, ".")+1:]
		if x, ok := styles.SentenceAt(read, span); ok {
			return leftOutPanel(read, around, x, param, at)
		}
	}
	return nil
}

// readPlace reads the name of a place: blank.12-15, sentence.12-90, or
// left-out.12-90.param.
func readPlace(text string) (kind string, at styles.Span, ok bool) {
	kind, rest, _ := strings.Cut(text, ".")
	rest, _, _ = strings.Cut(rest, ".")
	start, end, ok := strings.Cut(rest, "-")
	var err, err2 error
	at.Start, err = strconv.Atoi(start)
	at.End, err2 = strconv.Atoi(end)
	return kind, at, ok && err == nil && err2 == nil
}

// blankPanel returns the form of a blank.
func blankPanel(read *styles.Sentences, around *surroundings, b styles.Blank, at string) *panel {
	x := sentenceWith(read, b)
	p := &panel{Title: blankTitle(b, x), Place: at, Start: b.Start, End: b.End, Length: styles.IsLength(b.Kind),
		Edit: editOf(styles.SetBlank, b.Span), Ways: around.waysOf(b.Kind, b.Value, b.Of, "")}
	if param, ok := paramOf(x.Verb, b.Param); ok && !param.Required() {
		p.Acts = append(p.Acts, act{"Leave out", editOf(styles.SetArgument, x.Span, "param", b.Param, "name", b.Name,
			"form", "")})
	}
	if b.Value.Form == "number" && x.Verb != "choice" && x.Verb != "fit" {
		c := &choiceForm{Edit: editOf(styles.OfferChoice, b.Span), Name: strings.TrimSpace(words(b.Name + " " + b.Param)),
			Min: number(b.Value.Number / 2), Max: number(b.Value.Number * 2)}
		if p.Length {
			c.Min, c.Max, c.Unit = around.inUnit(b.Value.Number/2), around.inUnit(b.Value.Number*2), around.unitName()
		}
		p.Choice = c
	}
	return p
}

// sentenceWith returns the sentence that has a blank.
func sentenceWith(read *styles.Sentences, b styles.Blank) (found styles.Sentence) {
	read.Each(func(_ styles.Section, st *styles.Statement) {
		for _, x := range st.Sentences {
			for _, p := range x.Parts {
				if p.Blank != nil && p.Blank.Span == b.Span && p.Blank.Param == b.Param {
					found = x
				}
			}
		}
	})
	return found
}

// blankTitle says what a blank is: the centre front of drop.
func blankTitle(b styles.Blank, x styles.Sentence) string {
	if b.Name != "" && x.Verb != "" {
		return words(b.Name)
	}
	if b.Param == "value" {
		return "what it is"
	}
	return strings.TrimSpace(words(b.Param))
}

// sentencePanel returns what can be done with a sentence.
func sentencePanel(read *styles.Sentences, span styles.Span, at string) *panel {
	p := &panel{Title: "This sentence", Place: at}
	p.Acts = []act{{"Move up", editOf(styles.MoveSentence, span)},
		{"Move down", editOf(styles.MoveSentence, span, "down", "yes")}, {"Remove", editOf(styles.RemoveSentence, span)}}
	p.Add = fieldsOf("offer", "all", "at", at)
	x, said := styles.SentenceAt(read, span)
	if !said && !isStatement(read, span) {
		return nil
	}
	if x.Verb == "" {
		return p
	}
	given := map[string]bool{}
	for _, part := range x.Parts {
		if part.Blank != nil {
			given[part.Blank.Param] = true
		}
	}
	for _, q := range styles.Params(x.Verb) {
		if q.Kind == "table" {
			for _, entry := range read.Entries(q.Name) {
				p.Blanks = append(p.Blanks, act{words(q.Name + ": " + entry),
					fmt.Sprintf("left-out.%d-%d.%s:%s", span.Start, span.End, q.Name, entry)})
			}
			continue
		}
		if styles.TakesNames(q) || !q.Required() && !given[q.Name] && !styles.TakesSeveral(q) {
			p.Blanks = append(p.Blanks, act{words(q.Name), fmt.Sprintf("left-out.%d-%d.%s", span.Start, span.End, q.Name)})
		}
	}
	return p
}

// isStatement reports whether a statement of the script is at a place.
func isStatement(read *styles.Sentences, span styles.Span) (is bool) {
	read.Each(func(_ styles.Section, st *styles.Statement) { is = is || st.Span == span })
	return is
}

// leftOutPanel returns the form of a blank that a sentence leaves out, or of one more
// argument where it may have any number, or as param:name of an entry of a table.
func leftOutPanel(read *styles.Sentences, around *surroundings, x styles.Sentence, param, at string) *panel {
	param, entry, inTable := strings.Cut(param, ":")
	q, ok := paramOf(x.Verb, param)
	if !ok {
		return nil
	}
	if inTable {
		return &panel{Title: words(entry), Place: at,
			Edit: editOf(styles.SetArgument, x.Span, "param", param, "name", entry),
			Ways: around.waysOf(read.EntryKind(param, entry), styles.Value{}, "", "")}
	}
	of := ""
	for _, p := range x.Parts {
		if b := p.Blank; b != nil && (b.Kind == "piece" || b.Kind == "shape") && of == "" {
			of = b.Value.Script
		}
	}
	p := &panel{Title: words(param), Place: at, Edit: editOf(styles.SetArgument, x.Span, "param", param)}
	p.Ways = around.waysOf(q.Kind, styles.Value{}, of, "")
	if styles.TakesNames(q) {
		p.Names = around.namesOf(q, of, "name", "")
	}
	return p
}
