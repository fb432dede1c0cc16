// Package making lays out the making sheet of a pattern: the pages from which a
// garment is cut and sewn. They show the pieces and list what is cut, the cloth
// to buy, the notions, the finished measurements, the measurements used, the
// alterations, the cautions and the sewing order.
//
// Lengths are mm in the axes of package geom, from the page's upper left corner.
package making

import (
	"context"
	"fmt"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Sheet is a making sheet.
type Sheet struct {
	Size  geom.Point // of every page
	Pages []drawing.Figure
}

// New lays out the making sheet of a pattern on pages of a size, upright.
// The error is that of laying out the picture of the pieces.
func New(ctx context.Context, p finish.Pattern, size geom.Point) (Sheet, error) {
	s := newSetter(size)
	s.title(p)
	s.order(p)
	if err := s.picture(ctx, p); err != nil {
		return Sheet{}, err
	}
	unit := unitOf(p.Label)
	s.cuttingList(p)
	s.clothToBuy(p, unit)
	if i := p.Instructions; i != nil {
		s.list("Notions", i.Notions)
	}
	s.finished(p, unit)
	s.measurements(p, unit)
	s.alterations(p, unit)
	s.cautions(p)
	if i := p.Instructions; i != nil {
		s.steps("Sewing order", i.Sewing)
		s.list("How this pattern was built", i.Built)
	}
	s.footers(footOf(p), "making sheet")
	return Sheet{size, s.pages}, nil
}

// unitOf returns the unit in which the sheet gives lengths: the order's.
func unitOf(l finish.Label) body.Unit {
	if l.OrderUnit == "" {
		return body.Centimetre
	}
	return body.Unit(l.OrderUnit)
}

// title sets the garment and what the pages are.
func (s *setter) title(p finish.Pattern) {
	s.paragraph(titleSize, p.Style)
	s.paragraph(headSize, "Making sheet")
	s.y += gap
}

// order sets the facts of the order.
func (s *setter) order(p finish.Pattern) {
	facts := [][2]string{{"Order", p.Label.Reference}, {"Customer", p.Label.Customer}, {"Date", p.Label.Date},
		{"Revision", fmt.Sprint(p.Label.Revision)}}
	at, wide := s.y, (s.right-s.left)/float64(len(facts))
	low := at
	for i, f := range facts {
		if f[1] == "" {
			f[1] = "not given"
		}
		x := s.left + float64(i)*wide
		label := s.text(x, at, smallSize, wide-gap, 1, f[0])
		value := s.text(x, at+label, textSize, wide-gap, 4, f[1])
		low = max(low, at+label+value)
	}
	s.y = low + gap
	if len(p.Label.Measures) > 0 {
		s.paragraph(textSize, strings.Join(p.Label.Measures, " · "))
	}
	s.y += gap
}

// footOf returns what stands at the foot of every page.
func footOf(p finish.Pattern) string {
	foot := p.Style
	if p.Label.Reference != "" {
		foot = p.Label.Reference + " · " + foot
	}
	return fmt.Sprintf("%s · revision %d", foot, p.Label.Revision)
}

// cautions lists what the maker must know, the garment's cautions first.
func (s *setter) cautions(p finish.Pattern) {
	var all []string
	if i := p.Instructions; i != nil {
		all = append(all, i.Cautions...)
	}
	all = append(all, p.Warnings...)
	s.list("Cautions", append(all, "Sew a toile first."))
}

// alterations lists the corrections after a fitting.
func (s *setter) alterations(p finish.Pattern, unit body.Unit) {
	if len(p.Alterations) == 0 {
		return
	}
	t := table{title: "Alterations after a fitting", columns: []column{{name: "Alteration", flexible: true},
		{name: "Side"}, {name: "By", number: true}}}
	for _, a := range p.Alterations {
		side := a.Side
		if side == "" {
			side = "both"
		}
		t.row(words(a.Name), side, signedLength(a.Value, unit))
	}
	s.table(&t)
}

// words returns a name as it is read.
func words(name string) string {
	if name == "" {
		return ""
	}
	w := strings.ReplaceAll(name, "_", " ")
	return strings.ToUpper(w[:1]) + w[1:]
}

// titleOf returns a piece's title.
func titleOf(p pattern.Piece) string {
	if p.Title == "" {
		return p.Name
	}
	return p.Title
}
