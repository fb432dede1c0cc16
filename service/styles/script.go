package styles

import (
	"context"
	_ "embed" // the template
	"errors"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
	"tapeline/service"
)

// Word is a word that a script can use.
type Word struct {
	Name     string `json:"name"`
	Group    string `json:"group"`
	Use      string `json:"use"`                // how it is called
	Sentence string `json:"sentence,omitempty"` // how a call reads, with {blanks}
	Doc      string `json:"doc"`
}

// Verbs describes the verbs of scripts, in the order of their reference.
func Verbs() []Word {
	var list []Word
	for _, v := range style.Verbs() {
		list = append(list, Word{v.Name(), v.Group, v.Use(), v.Sentence, v.Doc})
	}
	return list
}

// Measures describes the measurements that a script reads from its body.
func Measures() []Word {
	var list []Word
	for _, m := range body.All() {
		list = append(list, Word{string(m.Name), "Measurements", "body." + string(m.Name), "", m.Title + ": " + m.How + "."})
	}
	return list
}

//go:embed template.star
var template string

// Template returns the script of a small style to start from.
func Template() string { return template }

// StartFrom returns a script to start a new style with: that of a style under a
// slug that neither the shop nor the program has.
func (s *Service) StartFrom(ctx context.Context, caller service.Caller, slug string) (string, error) {
	script, err := s.Script(ctx, caller, slug, 0)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeNotFound {
		detail, err := s.Style(ctx, caller, slug, body.Centimetre) // none is published: the latest
		if err != nil {
			return "", err
		}
		if script, err = s.Script(ctx, caller, slug, detail.Revision.Number); err != nil {
			return "", err
		}
	} else if err != nil {
		return "", err
	}
	own, err := s.store.StyleSlugs(ctx, caller.Owner())
	if err != nil {
		return "", err
	}
	next := slug
	for n := 2; ; n++ {
		if _, builtin := style.Builtin(next); !builtin && !slices.Contains(own, next) {
			break
		}
		next = fmt.Sprintf("%s-%d", slug, n)
	}
	return strings.Replace(script, `"`+slug+`"`, `"`+next+`"`, 1), nil
}
