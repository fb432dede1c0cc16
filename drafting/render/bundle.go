package render

import (
	"context"
	"fmt"
	"io"

	"github.com/signintech/gopdf"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/making"
	"tapeline/drafting/sheets"
)

// Bundle is one PDF of the patterns of several orders. Each has a job ticket in
// front, then its making sheet if the options ask for one.
type Bundle struct {
	options Options
	sheet   sheets.Options
	g       *gopdf.GoPdf
}

// NewBundle starts a PDF with the options of a single one. The error is a
// fault.List if they are wrong.
func NewBundle(o Options) (*Bundle, error) {
	sheet, err := o.Sheet()
	if err != nil {
		return nil, err
	}
	if faults := o.fillFront(sheet.Paper); faults != nil {
		return nil, faults
	}
	a4, err := sheets.ParsePaper(paperA4) // every page has its own size beside
	if err != nil {
		return nil, err
	}
	g, err := newDocument(a4.Width, a4.Height, "Job tickets and patterns", finish.Label{})
	return &Bundle{options: o, sheet: sheet, g: g}, err
}

// Pages returns how many pages the PDF has.
func (b *Bundle) Pages() int { return b.g.GetNumberOfPages() }

// Add adds a pattern. It fills in the pages and the paper of the ticket. After an
// error the bundle cannot be used further.
func (b *Bundle) Add(ctx context.Context, p finish.Pattern, t making.Ticket) error {
	p = p.Lettered()
	var front making.Sheet
	paper := makingPaper(b.sheet.Paper, p.Label)
	if b.options.MakingSheet == MakingInFront {
		var err error
		if front, err = newMakingSheet(ctx, p, paper); err != nil {
			return err
		}
	}
	l, err := sheets.Plan(ctx, p, b.sheet)
	if err != nil {
		return err
	}
	t.Paper, t.Pages, t.Making = b.sheet.Paper.Name, len(l.Pages), len(front.Pages)
	on, err := sheets.ParsePaper(paper)
	if err != nil {
		return err
	}
	ticket, err := making.NewTicket(p, t, geom.Pt(on.Width, on.Height))
	if err != nil {
		return err
	}
	for _, m := range []making.Sheet{ticket, front} {
		if err := drawMakingSheet(ctx, b.g, m); err != nil {
			return err
		}
	}
	pieces := only(drawing.Pieces(l.Pieces), b.options.Layers)
	return drawPages(ctx, b.g, sized(l.PageWidth, l.PageHeight), l, pieces, false)
}

// Write writes the PDF, once. If it returns an error other than that of w, it has
// written nothing.
func (b *Bundle) Write(w io.Writer) error {
	doc, err := bufferOf(b.g)
	if err != nil {
		return err
	}
	if _, err := doc.WriteTo(w); err != nil {
		return fmt.Errorf("write the PDF: %w", err)
	}
	return nil
}
