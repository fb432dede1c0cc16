package render

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/signintech/gopdf"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/making"
	"tapeline/drafting/sheets"
)

// MakingSheet says where the making sheet of a pattern goes.
type MakingSheet string

const (
	MakingInFront MakingSheet = "front" // before the pattern's pages
	MakingNone    MakingSheet = "none"
)

// MakingSheetName is the name of the format of a making sheet by itself.
const MakingSheetName = "making-sheet"

// The papers of a making sheet.
const (
	paperA4     = "a4"
	paperLetter = "letter"
)

// makingFormat is not among formats: it is no form of the pattern itself.
var makingFormat = Format{MakingSheetName, "application/pdf", []string{"paper"}, (*Options).fillMakingSheet,
	writeMakingSheet}

// fillMakingSheet checks the options of a making sheet by itself.
func (o *Options) fillMakingSheet() fault.List {
	if o.Paper == "" {
		o.Paper = paperA4
	}
	return fault.OneOf("/paper", o.Paper, paperA4, paperLetter)
}

// fillFront settles whether a making sheet goes before the pages of a pattern: by
// default on paper for desk printers, up to A3 and tabloid, if whole pieces are
// drawn. On larger sheets and rolls it would go through the plotter.
func (o *Options) fillFront(paper sheets.Paper) fault.List {
	switch o.MakingSheet {
	case "":
		o.MakingSheet = MakingNone
		if paper.Height > 0 && paper.Width <= maxDesk && len(o.Layers) == 0 {
			o.MakingSheet = MakingInFront
		}
	default:
		return fault.OneOf("/making_sheet", o.MakingSheet, MakingInFront, MakingNone)
	}
	return nil
}

// maxDesk is the widest paper of a desk printer, mm: that of A3.
const maxDesk = 297.0

// MakingPaper returns the paper of a making sheet beside a file with options.
func MakingPaper(o Options, l finish.Label) string {
	sheet, err := o.Sheet()
	if o.Paper == "" || err != nil {
		sheet.Paper = sheets.Full
	}
	return makingPaper(sheet.Paper, l)
}

// makingPaper returns the paper of the making sheet before a pattern on a paper:
// letter with the American papers, and with rolls and full sheets of orders in
// inches, otherwise A4.
func makingPaper(paper sheets.Paper, l finish.Label) string {
	american := slices.Contains([]string{paperLetter, "legal", "tabloid"}, paper.Name) ||
		strings.HasPrefix(paper.Name, "ansi-")
	if american || paper.Height == 0 && l.OrderUnit == string(body.Inch) {
		return paperLetter
	}
	return paperA4
}

// newMakingSheet lays out the making sheet of a pattern.
func newMakingSheet(ctx context.Context, p finish.Pattern, paper string) (making.Sheet, error) {
	on, err := sheets.ParsePaper(paper)
	if err != nil {
		return making.Sheet{}, err
	}
	return making.New(ctx, p, geom.Pt(on.Width, on.Height))
}

// CountMakingPages returns the number of pages of the making sheet that a PDF with
// these options has in front.
func CountMakingPages(ctx context.Context, p finish.Pattern, o Options) (int, error) {
	if o.MakingSheet != MakingInFront {
		return 0, nil
	}
	sheet, err := o.Sheet()
	if err != nil {
		return 0, err
	}
	m, err := newMakingSheet(ctx, p, makingPaper(sheet.Paper, p.Label))
	return len(m.Pages), err
}

// drawMakingSheet adds the pages of a making sheet to a document.
func drawMakingSheet(ctx context.Context, g *gopdf.GoPdf, m making.Sheet) error {
	for i := range m.Pages {
		if err := cost.Step(ctx); err != nil {
			return err
		}
		g.AddPageWithOption(sized(m.Size.X, m.Size.Y))
		page := m.Pages[i : i+1]
		c := newCanvas(g, geom.Box{Max: m.Size}, 0)
		c.figures(page)
		c.set(drawing.Fine)
		if err := c.letter(drawing.Texts(page)); err != nil {
			return fmt.Errorf("making sheet: %w", err)
		}
	}
	return nil
}

// writeMakingSheet writes the making sheet by itself.
func writeMakingSheet(ctx context.Context, w io.Writer, p finish.Pattern, o Options) error {
	if faults := o.fillMakingSheet(); faults != nil {
		return faults
	}
	m, err := newMakingSheet(ctx, p, o.Paper)
	if err != nil {
		return err
	}
	g, err := newDocument(m.Size.X, m.Size.Y, p.Style, p.Label)
	if err != nil {
		return err
	}
	if err := drawMakingSheet(ctx, g, m); err != nil {
		return err
	}
	doc, err := bufferOf(g)
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}

// makingGap is between the pages of a making sheet in a picture, mm.
const makingGap = 8

// MakingSheetSVG writes a picture of a making sheet for screens: its pages one below
// the other.
func MakingSheetSVG(ctx context.Context, w io.Writer, p finish.Pattern, paper string) error {
	m, err := newMakingSheet(ctx, p, paper)
	if err != nil {
		return err
	}
	picture := drawing.Picture{Style: p.Style, Label: p.Label, Title: titleOf(p.Style, p.Label) + ": making sheet",
		Bounds: geom.Box{Max: geom.Pt(m.Size.X, float64(len(m.Pages))*(m.Size.Y+makingGap)-makingGap)}}
	for i := range m.Pages {
		if err := cost.Step(ctx); err != nil {
			return err
		}
		page := drawing.Picture{Figures: m.Pages[i : i+1], Bounds: geom.Box{Max: m.Size}}.
			Scaled(1, geom.Pt(0, float64(i)*(m.Size.Y+makingGap)))
		edge := drawing.Figure{Name: []string{"edge", fmt.Sprint(i + 1)}, Bounds: page.Bounds,
			Parts: []drawing.Part{{Name: "edge", Pen: drawing.Fine, Shapes: drawing.Lines(drawing.BoxPath(page.Bounds))}}}
		picture.Figures = append(picture.Figures, append(page.Figures, edge)...)
	}
	return PictureSVG(w, picture)
}
