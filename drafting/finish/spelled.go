package finish

import (
	"slices"
	"strings"

	"tapeline/drafting/lettering"
)

// SpelledNote says which texts of the pattern the font can't set as they are
// written and that are spelled in Latin letters instead; "" if there are none.
func (p Pattern) SpelledNote() string {
	var spelled []string
	note := func(what string, texts ...string) {
		if slices.ContainsFunc(texts, lettering.Regular().Spells) {
			spelled = append(spelled, what)
		}
	}
	note("the order's reference", p.Label.Reference)
	note("the customer", p.Label.Customer)
	note("the style's name", p.Style)
	for _, q := range p.Pieces {
		note("the title or notes of "+q.Name, append([]string{q.Title}, q.Notes...)...)
	}
	if i := p.Instructions; i != nil {
		note("the instructions", slices.Concat(i.Cloths, i.Notions, i.Sewing, i.Cautions, i.Built)...)
	}
	if len(spelled) == 0 {
		return ""
	}
	return "Spelled in Latin letters, because the printed font lacks theirs: " + strings.Join(spelled, ", ") + "."
}
