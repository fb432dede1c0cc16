package styles

import (
	"context"
	"fmt"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/work"
)

// Types of a style that is read and changed in sentences.
type (
	Sentences = sentence.Script
	Span      = sentence.Span
	Value     = sentence.Value
	ValueForm = sentence.Form
	Sentence  = sentence.Sentence
	Statement = sentence.Statement
	Section   = sentence.Section
	Blank     = sentence.Blank
	Arg       = sentence.Arg
	Pick      = sentence.Pick
	Offer     = sentence.Offer
	Kind      = style.Kind
	Param     = style.Param
)

// Units returns the units that sentences can say lengths in.
func Units() []Unit { return body.OrderUnits() }

// BlankAt returns the blank at a place of the script.
func BlankAt(s *Sentences, at Span) (found Blank, ok bool) {
	eachSentence(s, func(x Sentence) {
		for _, p := range x.Parts {
			if p.Blank != nil && p.Blank.Span == at {
				found, ok = *p.Blank, true
			}
		}
	})
	return found, ok
}

// SentenceAt returns the sentence at a place of the script.
func SentenceAt(s *Sentences, at Span) (found Sentence, ok bool) {
	eachSentence(s, func(x Sentence) {
		if x.Span == at {
			found, ok = x, true
		}
	})
	return found, ok
}

func eachSentence(s *Sentences, f func(Sentence)) {
	s.Each(func(_ sentence.Section, st *Statement) {
		for _, x := range st.Sentences {
			f(x)
		}
	})
}

// Params returns what the blanks of a verb's sentence take, nil if there is no such verb.
func Params(verb string) []Param {
	for _, v := range style.Verbs() {
		if v.Name() == verb {
			return v.Params()
		}
	}
	return nil
}

// TakesNames reports whether a parameter takes any number of arguments, named as the
// script likes.
func TakesNames(p Param) bool { return p.Rest == style.Named }

// TakesSeveral reports whether a parameter takes any number of arguments.
func TakesSeveral(p Param) bool { return p.Rest != style.Single }

// IsLength reports whether the numbers of a kind are lengths, mm.
func IsLength(k Kind) bool {
	return slices.Contains([]Kind{style.KindLength, style.KindLengths, style.KindAlong, style.KindLimits,
		style.KindPosition, style.KindTable}, k)
}

// ReadSentences reads a script as sentences with lengths in a unit. A script that does
// not parse is a Problem.
func ReadSentences(script string, unit Unit) (*Sentences, *Problem) {
	if len(script) > MaxScript {
		return nil, &Problem{Code: service.CodeInvalidInput,
			Reason: fmt.Sprintf("a script of %d bytes; at most %d", len(script), MaxScript)}
	}
	s, err := sentence.Read(script, unit)
	if err != nil {
		return nil, problem(context.Background(), err)
	}
	return s, nil
}

// Offers returns what can be said of something picked in the picture, with first
// guesses.
func Offers(p Pick) []Offer { return sentence.Offers(p) }

// An Edit is a change of a script by its sentences. At is the range of bytes that the
// sentence or blank has in the script.
type Edit struct {
	Act EditAct
	At  Span

	Param, Name string          // SetArgument: the blank, and the name that the script chose
	Value       Value           // SetBlank, SetArgument; without a form the argument is left out
	Choice      sentence.Choice // OfferChoice
	Call        sentence.Call   // AddSentence
	Before      bool            // AddSentence: before the sentence, not after it
	Down        bool            // MoveSentence
}

// EditAct is the kind of an edit.
type EditAct string

// The edits of a script.
const (
	SetBlank       EditAct = "set_blank"
	SetArgument    EditAct = "set_argument"
	OfferChoice    EditAct = "offer_choice"
	AddSentence    EditAct = "add_sentence"
	RemoveSentence EditAct = "remove_sentence"
	MoveSentence   EditAct = "move_sentence"
)

// apply returns the script with the edit.
func (e Edit) apply(s *Sentences) (string, error) {
	switch e.Act {
	case SetBlank:
		return s.Set(e.At, e.Value)
	case SetArgument:
		return s.SetArgument(e.At, e.Param, e.Name, e.Value)
	case OfferChoice:
		return s.Offer(e.At, e.Choice)
	case AddSentence:
		return s.Add(e.At, e.Before, e.Call)
	case RemoveSentence:
		return s.Remove(e.At)
	case MoveSentence:
		return s.Move(e.At, e.Down)
	}
	return "", fmt.Errorf("unknown edit %q", e.Act)
}

// ChangeSentences returns a script with an edit. An edit that cannot be, or after which
// the script would no longer compile, is a Problem, and the script is as before.
func (s *Service) ChangeSentences(
	ctx context.Context, caller service.Caller, script string, e Edit,
) (changed string, p *Problem, err error) {
	read, p := ReadSentences(script, body.Centimetre)
	if p != nil {
		return script, p, nil
	}
	leave, err := s.trials.Enter(caller.Shop)
	if err != nil {
		return script, nil, err
	}
	defer leave()
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Shop, func(ctx context.Context) error {
		text, err := e.apply(read)
		if err == nil && len(text) > MaxScript {
			err = fmt.Errorf("a script of %d bytes; at most %d", len(text), MaxScript)
		}
		if err != nil {
			p = problem(ctx, err)
			return ctx.Err()
		}
		changed = text
		return nil
	})
	if p != nil || err != nil {
		changed = script
	}
	return changed, p, err
}

// TriedOrigin says which lines of the script made and last changed a thing of the
// pattern: a piece, or an edge, dart, line or mark of it. MadeIn and ChangedIn are the lines
// of make that led there. 0 is the block.
type TriedOrigin struct {
	Piece, Kind, Name string
	Made, MadeIn      int
	Changed           int
	ChangedIn         int
}

// origins returns where the things of the tried pieces come from.
func origins(t *style.Trace, pieces []TriedPiece) []TriedOrigin {
	var all []TriedOrigin
	add := func(of style.Thing) {
		if o, ok := t.Origin(of); ok {
			all = append(all, TriedOrigin{of.Piece, string(of.Kind), of.Name, o.Made.At.Line, o.Made.Make.Line,
				o.Changed.At.Line, o.Changed.Make.Line})
		}
	}
	for _, p := range pieces {
		add(style.Thing{Piece: p.Name})
		for _, e := range p.Edges {
			add(style.Thing{Piece: p.Name, Kind: style.KindEdge, Name: e.Name})
		}
		for _, name := range p.Darts {
			add(style.Thing{Piece: p.Name, Kind: style.KindDart, Name: name})
		}
		for _, name := range p.Lines {
			add(style.Thing{Piece: p.Name, Kind: style.KindLine, Name: name})
		}
		for _, name := range p.Marks {
			add(style.Thing{Piece: p.Name, Kind: style.KindMark, Name: name})
		}
	}
	return all
}
