package styles

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/sentence"
)

// A Step is a step of making a garment on the page where styles are written.
type Step struct {
	Title string
	Do    []string // what the cutter does
	See   string   // what she sees then
	make  func(m *maker)
}

// A maker makes a garment as a cutter does on the page: by what is picked in the picture,
// by the sentences that are offered for it, and by numbers. After an error it does
// nothing more.
type maker struct {
	script string
	shown  Tried // the latest picture
	try    func(script string) (Tried, error)
	err    error
}

func (m *maker) fail(format string, args ...any) {
	if m.err == nil {
		m.err = fmt.Errorf(format, args...)
	}
}

// edit makes one edit.
func (m *maker) edit(e Edit) {
	read := m.read()
	if m.err != nil {
		return
	}
	changed, err := e.apply(read)
	if err != nil {
		m.fail("%s: %w", e.Act, err)
		return
	}
	m.script = changed
}

func (m *maker) read() *Sentences {
	if m.err != nil {
		return nil
	}
	s, err := sentence.Read(m.script, body.Centimetre)
	if err != nil {
		m.err = err
	}
	return s
}

// saying returns the first sentence that begins with words.
func (m *maker) saying(words string) (found sentence.Sentence) {
	read := m.read()
	if m.err != nil {
		return found
	}
	ok := false
	read.Each(func(_ sentence.Section, st *sentence.Statement) {
		for _, x := range st.Sentences {
			if !ok && strings.HasPrefix(x.Text(), words) {
				found, ok = x, true
			}
		}
	})
	if !ok {
		m.fail("no sentence begins with %q", words)
	}
	return found
}

// fill fills in a blank of the sentence that begins with words, or adds the blank to it.
// name is "" for a blank without one.
func (m *maker) fill(words, param, name string, v Value) {
	x := m.saying(words)
	if b := blankOf(x, param, name); b != nil {
		m.edit(Edit{Act: SetBlank, At: b.Span, Value: v})
		return
	}
	m.edit(Edit{Act: SetArgument, At: x.Span, Param: param, Name: name, Value: v})
}

// choose lets the customer choose the number of a blank.
func (m *maker) choose(words, param, name string, choice sentence.Choice) {
	b := blankOf(m.saying(words), param, name)
	if b == nil {
		m.fail("%q has no blank %s %s", words, param, name)
		return
	}
	m.edit(Edit{Act: OfferChoice, At: b.Span, Choice: choice})
}

func blankOf(x sentence.Sentence, param, name string) *sentence.Blank {
	for _, p := range x.Parts {
		if p.Blank != nil && p.Blank.Param == param && (name == "" || p.Blank.Name == name) {
			return p.Blank
		}
	}
	return nil
}

// say picks piece/name, or a piece, and adds a sentence that is offered for it. Blanks
// replace the first guesses, and are left out where their value has no form.
func (m *maker) say(kind Kind, picked, verb string, blanks ...sentence.Arg) {
	piece, name, _ := strings.Cut(picked, "/")
	m.see(piece, name)
	read := m.read()
	if m.err != nil {
		return
	}
	offers := Offers(PickIn(read, m.shown, kind, piece, name))
	i := slices.IndexFunc(offers, func(o Offer) bool { return o.Verb == verb })
	if i < 0 {
		m.fail("%s is not offered for the %s %s", verb, kind, picked)
		return
	}
	call := offers[i].Call
	call.Args = slices.Clone(call.Args)
	for _, b := range blanks {
		call.Args = slices.DeleteFunc(call.Args, func(a sentence.Arg) bool { return a.Param == b.Param && a.Name == b.Name })
		if b.Value.Form != "" {
			call.Args = append(call.Args, b)
		}
	}
	m.edit(Edit{Act: AddSentence, Call: call})
}

// add adds a sentence that is said of nothing picked.
func (m *maker) add(verb string, blanks ...sentence.Arg) {
	m.edit(Edit{Act: AddSentence, Call: sentence.Call{Verb: verb, Args: blanks}})
}

// see drafts the script if the picture does not show a thing yet. While the script does
// not draft the picture stays as it was.
func (m *maker) see(piece, edge string) {
	if m.err != nil {
		return
	}
	for _, p := range m.shown.Pieces {
		if p.Name == piece && (edge == "" || edgeIndex(p.Edges, edge) >= 0) {
			return
		}
	}
	tried, err := m.try(m.script)
	if err != nil {
		m.err = err
		return
	}
	if tried.Problem == nil {
		m.shown = tried
	}
}

// The values with which blanks are filled in.
func number(mm float64) Value   { return Value{Form: sentence.Number, Number: mm} }
func word(text string) Value    { return Value{Form: sentence.Word, Word: text} }
func texts(all ...string) Value { return Value{Form: sentence.Words, Words: all} }
func measure(name string, times, plus float64) Value {
	return Value{Form: sentence.Measurement, Word: name, Times: times, Plus: plus}
}
func lengthOf(variable, edge string, plus float64) Value {
	return Value{Form: sentence.EdgeLength, Piece: variable, Word: edge, Plus: plus}
}
func with(param string, v Value) sentence.Arg { return sentence.Arg{Param: param, Value: v} }
func named(param, name string, v Value) sentence.Arg {
	return sentence.Arg{Param: param, Name: name, Value: v}
}

// steps makes a garment step by step, and returns the script after each.
func (s *Service) steps(ctx context.Context, title string, from Start, steps []Step) ([]string, error) {
	script, err := retitled(from.Script(), slugOf(title), title)
	if err != nil {
		return nil, err
	}
	m := &maker{script: script, try: func(script string) (tried Tried, err error) {
		if err := s.try(ctx, Trial{Script: script}, &tried); err != nil {
			tried.Problem = problem(ctx, err)
		}
		return tried, ctx.Err()
	}}
	var scripts []string
	for _, step := range steps {
		if step.make != nil {
			step.make(m)
		}
		if m.err != nil {
			return nil, fmt.Errorf("%s: %w", step.Title, m.err)
		}
		scripts = append(scripts, m.script)
	}
	return scripts, nil
}
