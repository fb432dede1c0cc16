package style

import (
	"fmt"
	"slices"
	"strings"
)

// A Phrase is a part of a verb's sentence: words, a blank, or further phrases.
type Phrase struct {
	Words string

	Param  string // the parameter of a blank, "" for other phrases
	OfName bool   // the blank is the name of the argument, not its value

	Parts  []Phrase // of an optional or repeated phrase
	Repeat bool     // said for each argument of its parameter; otherwise left out without one
}

// Phrases returns the parts of the verb's sentence.
func (v Verb) Phrases() []Phrase { return v.phrases }

// Blanks calls f for each blank in a list of phrases.
func Blanks(phrases []Phrase, f func(Phrase)) {
	for _, p := range phrases {
		if p.Param != "" {
			f(p)
		}
		Blanks(p.Parts, f)
	}
}

// ParseSentence reads a sentence for a verb with these parameters, as Verbs declare it.
func ParseSentence(s string, params []Param) ([]Phrase, error) {
	phrases, rest, err := parsePhrases(s, "")
	if err == nil && rest != "" {
		err = fmt.Errorf("unexpected %q", rest)
	}
	Blanks(phrases, func(b Phrase) {
		i := slices.IndexFunc(params, func(p Param) bool { return p.Name == b.Param })
		switch {
		case i < 0:
			err = fmt.Errorf("{%s} is not a parameter", b.Param)
		case b.OfName && params[i].Rest != Named:
			err = fmt.Errorf("{%s.name}: the arguments have no names", b.Param)
		}
	})
	if err != nil {
		return nil, fmt.Errorf("sentence %q: %w", s, err)
	}
	return phrases, nil
}

// parsePhrases reads phrases up to a closing bracket, and returns what follows it.
func parsePhrases(s, closing string) (list []Phrase, rest string, err error) {
	for s != "" {
		i := strings.IndexAny(s, "{}[]<>")
		if i != 0 {
			if i < 0 {
				i = len(s)
			}
			list, s = append(list, Phrase{Words: s[:i]}), s[i:]
			continue
		}
		c := s[:1]
		s = s[1:]
		switch c {
		case closing:
			return list, s, nil
		case "{":
			blank, after, ok := strings.Cut(s, "}")
			if !ok {
				return nil, "", fmt.Errorf("{%s: want }", s)
			}
			name, ofName := strings.CutSuffix(blank, ".name")
			list, s = append(list, Phrase{Param: name, OfName: ofName}), after
		case "[", "<":
			var p Phrase
			p.Repeat = c == "<"
			if p.Parts, s, err = parsePhrases(s, map[string]string{"[": "]", "<": ">"}[c]); err != nil {
				return nil, "", err
			}
			list = append(list, p)
		default:
			return nil, "", fmt.Errorf("unexpected %q", c)
		}
	}
	if closing != "" {
		return nil, "", fmt.Errorf("want %s", closing)
	}
	return list, "", nil
}
