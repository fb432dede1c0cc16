package style

import (
	"maps"
	"slices"
	"sync"

	"go.starlark.net/starlark"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// needs are the measurements that a style requires and uses with some choices,
// and those that each word of a choice spares.
type needs struct {
	requires, uses []body.Name
	spares         map[string]map[string][]body.Name // by choice and word
}

// Needs returns the measurements that a draft with those choices requires, and
// those that it uses and that are estimated where not given: those of the block
// as the style drafts it then, and the style's own.
func (s *Style) Needs(choices map[string]block.Value) (requires, uses []body.Name) {
	return s.needsIn(newRun(), choices)
}

func (s *Style) needsIn(r *run, choices map[string]block.Value) (requires, uses []body.Name) {
	base, _ := block.Find(s.Head.Block)
	requires, uses = base.Needs(s.blockWords(r, base, choices))
	uses = block.Without(uses, s.Head.Measures)
	return append(block.Without(requires, s.Head.Measures), s.Head.Measures...), uses
}

// blockWords returns the choices of the block for those of the style. A draft
// that a function returns is asked for on a body of ordinary size: words, such
// as a sleeve's, follow from choices. If the function fails there, the block is
// drafted with its own defaults, which need most.
func (s *Style) blockWords(r *run, base block.Spec, choices map[string]block.Value) map[string]block.Value {
	req := block.Request{Fit: s.Head.Fits[0].Name, Choices: choices}
	if _, ok := s.Head.draft.(*starlark.Function); ok {
		req.Body = ordinary()
	}
	r.drafting = true
	out, err := s.blockRequest(r.thread, base, req, s.inputs(req, base))
	if err != nil {
		return nil
	}
	return out.Choices
}

// ordinary returns the body of the pictures with a belly girth and all that follows from them.
var ordinary = sync.OnceValue(func() body.Body {
	var uses []body.Name
	for _, spec := range block.Specs() {
		uses = append(uses, spec.Uses...)
	}
	figure := maps.Clone(pictureFigure)
	figure[body.BellyGirth] = 1.3 * figure[body.WaistGirth] // not estimated
	person, _ := body.NewIn(body.Millimetre, figure, nil, uses)
	return person
})

// findNeeds returns the needs of a style over all its choices, each varied
// alone. All together have the steps of one run.
func (s *Style) findNeeds() needs {
	r := newRun()
	base, _ := block.Find(s.Head.Block)
	var all needs
	all.requires, all.uses = s.needsIn(r, nil)
	add := func(list *[]body.Name, more []body.Name) {
		*list = append(*list, block.Without(more, *list)...)
	}
	all.spares = map[string]map[string][]body.Name{}
	for _, c := range s.Head.Choices {
		var union []body.Name
		byWord := map[string][]body.Name{}
		for _, w := range c.Options {
			requires, uses := s.needsIn(r, map[string]block.Value{c.Name: {Word: w}})
			byWord[w] = requires
			add(&union, requires)
			add(&all.uses, uses)
		}
		add(&all.requires, union)
		for w, requires := range byWord {
			if spared := block.Without(union, requires); len(spared) > 0 {
				if all.spares[c.Name] == nil {
					all.spares[c.Name] = map[string][]body.Name{}
				}
				all.spares[c.Name][w] = spared
			}
		}
	}
	all.uses = block.Without(all.uses, all.requires)
	inOrder := slices.Concat(base.Requires, base.Uses, s.Head.Measures)
	for _, list := range [][]body.Name{all.requires, all.uses} {
		slices.SortStableFunc(list, func(a, b body.Name) int { return slices.Index(inOrder, a) - slices.Index(inOrder, b) })
	}
	return all
}
