// Package render writes a finished pattern in the formats that leave the
// program. The same pattern gives the same bytes, always.
package render

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/signintech/gopdf"

	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/making"
	"tapeline/drafting/sheets"
)

// PDF writes the pattern on paper at true scale, tiled where the paper is
// smaller than the pattern. Curves stay curves; coordinates are rounded to a
// hundredth of a point (0.0035 mm). If it returns an error other than that of w,
// it has written nothing; the error is a fault.List if the options are wrong, and
// the context's once it is cancelled.
//
// If layers are named, only those of the pieces are drawn; otherwise all but the
// grid. The writer gopdf has no optional content, so layers are separate files.
// Each of them has the frames of the pages, by which they are laid on each other.
func PDF(ctx context.Context, w io.Writer, p finish.Pattern, o sheets.Options, layers ...Layer) error {
	return writePattern(ctx, w, p, o, false, layers)
}

// writePattern is PDF, with the making sheet in front if asked for.
func writePattern(ctx context.Context, w io.Writer, p finish.Pattern, o sheets.Options, front bool,
	layers []Layer) error {
	if err := checkLayers(layers); err != nil {
		return err
	}
	p = p.Lettered()
	var m making.Sheet
	if front {
		var err error
		if m, err = newMakingSheet(ctx, p, makingPaper(o.Paper, p.Label)); err != nil {
			return err
		}
	}
	l, err := sheets.Plan(ctx, p, o)
	if err != nil {
		return err
	}
	doc, err := pdf(ctx, l, m, only(drawing.Pieces(l.Pieces), layers), slices.Contains(layers, drawing.LayerGrid))
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}

const fontFamily = "lettering"

// typeface is the embedded font, read once: reading it is the dearest part of
// a small document. gopdf copies it for every document and writes only into
// the copy.
var typeface = sync.OnceValues(func() (*gopdf.FontContainer, error) {
	var c gopdf.FontContainer
	err := c.AddTTFFontData(fontFamily, lettering.Regular().TTF())
	return &c, err
})

// pdf draws a layout. The document is complete in memory before any of it is
// handed out, because gopdf does not report a writer that fails.
func pdf(ctx context.Context, l sheets.Layout, m making.Sheet, pieces []drawing.Figure, grid bool) (*bytes.Buffer,
	error) {
	g, err := newDocument(l.PageWidth, l.PageHeight, l.Style, l.Label)
	if err != nil {
		return nil, err
	}
	if err := drawMakingSheet(ctx, g, m); err != nil {
		return nil, err
	}
	if err := drawPages(ctx, g, gopdf.PageOption{}, l, pieces, grid); err != nil {
		return nil, err
	}
	return bufferOf(g)
}

// drawPages adds the pages of a layout to a document, each with the page's options.
func drawPages(ctx context.Context, g *gopdf.GoPdf, page gopdf.PageOption, l sheets.Layout, pieces []drawing.Figure,
	grid bool) error {
	texts := drawing.Texts(pieces)
	for i := range l.Pages {
		if err := cost.Step(ctx); err != nil {
			return err
		}
		g.AddPageWithOption(page)
		c := newCanvas(g, l.Pages[i].Window, l.Margin)
		if grid && !l.Pages[i].Cover {
			c.grid()
		}
		if err := drawPage(c, &l, pieces, texts, i); err != nil {
			return err
		}
	}
	return nil
}

// sized returns the options of a page of that size, mm.
func sized(width, height float64) gopdf.PageOption {
	return gopdf.PageOption{PageSize: &gopdf.Rect{W: points(width), H: points(height)}}
}

// newDocument starts a document of pages of that size, mm.
func newDocument(width, height float64, style string, label finish.Label) (*gopdf.GoPdf, error) {
	fonts, err := typeface()
	if err != nil {
		return nil, fmt.Errorf("reading the embedded font: %w", err)
	}
	var g gopdf.GoPdf
	g.Start(gopdf.Config{Unit: gopdf.UnitPT, PageSize: gopdf.Rect{W: points(width), H: points(height)}})
	// A new compressor for each page is nearly all that a compressed document
	// allocates, and it holds up every other core; the pages are small without.
	g.SetNoCompression()
	g.SetInfo(info(style, label))
	if err := g.AddTTFFontFromFontContainer(fontFamily, fonts); err != nil {
		return nil, fmt.Errorf("embedding the font: %w", err)
	}
	if err := g.SetFont(fontFamily, "", points(4)); err != nil {
		return nil, fmt.Errorf("embedding the font: %w", err)
	}
	return &g, nil
}

// bufferOf is the finished document.
func bufferOf(g *gopdf.GoPdf) (*bytes.Buffer, error) {
	var buf bytes.Buffer
	buf.Grow(64 << 10) // what a torso on A4 takes
	if _, err := g.WriteTo(&buf); err != nil {
		return nil, fmt.Errorf("writing the PDF: %w", err)
	}
	return &buf, nil
}

// info is the document's description. The date is the order's, never the
// clock's.
func info(style string, l finish.Label) gopdf.PdfInfo {
	title := l.Reference
	if title == "" {
		title = style
	}
	d := gopdf.PdfInfo{Title: basicPlane(title), Subject: basicPlane(style), Creator: "tapeline", Producer: "gopdf"}
	if date, err := time.Parse(time.DateOnly, l.Date); err == nil {
		d.CreationDate = date
	}
	return d
}

// basicPlane replaces what gopdf cannot write in a description: it knows no
// surrogate pairs.
func basicPlane(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return lettering.Replacement
		}
		return r
	}, s)
}

// points is a length in mm as PDF units of 1/72 inch.
func points(mm float64) float64 { return mm * 72 / 25.4 }

// drawPage draws one page of a layout, with the pieces and their texts.
func drawPage(c *canvas, l *sheets.Layout, pieces []drawing.Figure, texts []finish.Text, page int) error {
	p := &l.Pages[page]
	c.joins(p)
	if page == 0 {
		c.legend(&l.Legend)
	}
	if !p.Cover {
		c.pieces(pieces)
	}
	c.set(drawing.Fine)
	if err := c.letter(p.Texts); err != nil {
		return err
	}
	for i := range p.Joins {
		if err := c.letter([]finish.Text{p.Joins[i].Label}); err != nil {
			return err
		}
	}
	if page == 0 {
		if err := c.letter(l.Legend.Texts); err != nil {
			return err
		}
	}
	if !p.Cover {
		if err := c.letter(texts); err != nil {
			return err
		}
	}
	c.blankMargins(l.PageWidth, l.PageHeight)
	c.frame()
	return nil
}

// letter sets the labels that the page shows any of, unknown glyphs replaced.
func (c *canvas) letter(labels []finish.Text) error {
	font := lettering.Regular()
	for i := range labels {
		l := &labels[i]
		corners := l.Corners()
		if !geom.BoxOf(corners[:]...).Overlaps(c.window) {
			continue
		}
		if err := c.g.SetFontSize(points(l.Size)); err != nil {
			return err
		}
		if err := c.lines(l, font); err != nil {
			return fmt.Errorf("lettering %q: %w", l.Lines, err)
		}
	}
	return nil
}
