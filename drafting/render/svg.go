package render

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"

	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// SVGText says how an SVG file is lettered.
type SVGText string

const (
	TextOutlines SVGText = "outlines" // shapes, the same everywhere
	TextLetters  SVGText = "letters"  // text to select and edit, in a typeface that the reader has
)

// SVGFor says what an SVG file is for.
type SVGFor string

const (
	ForEditing SVGFor = "editing" // true scale, everything on it
	ForScreens SVGFor = "screens" // as wide as its window, what can be read there
)

// SVGOptions say how an SVG file is written; the zero value is for editing,
// lettered in outlines.
type SVGOptions struct {
	For   SVGFor
	Text  SVGText
	Picks bool // with a layer in which the things of the pattern can be pointed at
}

// filled returns the options with the defaults filled in. The error is a
// fault.List of everything wrong with them.
func (o SVGOptions) filled() (SVGOptions, error) {
	o.For, o.Text = cmp.Or(o.For, ForEditing), cmp.Or(o.Text, TextOutlines)
	return o, slices.Concat(fault.OneOf("/for", o.For, ForEditing, ForScreens),
		fault.OneOf("/text", o.Text, TextOutlines, TextLetters)).Err()
}

// Legibility on a screen: letters are not set smaller than legiblePixels in a
// drawing screenPixels wide (common practice).
const (
	legiblePixels = 11.0
	screenPixels  = 640.0
)

// SVG writes the pattern in one SVG 1.1 file, the pieces side by side. Each
// piece is a group, with sub-groups for its cut line, seam line (an edge a
// path), darts, internal lines, notches, marks, grain and text. Their ids are
// made of the names of pieces and edges: they stay from revision to revision.
// Curves stay curves; places are rounded to 0.001 mm.
//
// For editing a unit is a mm and the file has its size; for screens it takes
// the width of its window, and letters are large enough to be read where it is
// shown 640 pixels wide or more.
//
// Nothing is written if an error is returned, but by w itself; the error is a
// fault.List where the options are at fault.
func SVG(ctx context.Context, w io.Writer, p finish.Pattern, o SVGOptions) error {
	o, err := o.filled()
	if err != nil {
		return err
	}
	s := newSVGWriter(o.For == ForScreens)
	l, bounds, err := svgRow(ctx, p, s.screen)
	if err != nil {
		return err
	}
	var picked []finish.Piece
	if o.Picks {
		picked = p.Pieces
	}
	s.document(&l, bounds, o.Text == TextOutlines, picked)
	return s.writeTo(w)
}

// svgRow lays the pieces side by side, with captions for a screen and a legend for
// editing, and returns the bounds of all.
func svgRow(ctx context.Context, p finish.Pattern, screen bool) (sheets.Layout, geom.Box, error) {
	if screen {
		pieces, bounds, err := sheets.Captioned(ctx, p, func(b geom.Box) float64 {
			return legiblePixels / screenPixels * (b.Width() + 2*rowMargin)
		})
		return sheets.Layout{Label: p.Label, Style: p.Style, Pieces: pieces}, bounds.Grow(rowMargin), err
	}
	l, err := sheets.Row(ctx, p)
	if err != nil {
		return l, geom.Box{}, err
	}
	bounds := sheets.Bounds(l.Pieces)
	if !l.Pages[0].Cover {
		bounds = bounds.Union(l.Legend.Box)
	}
	return l, bounds.Grow(rowMargin), nil
}

// document writes a layout, and over it what can be picked of the pieces as they were
// drafted; nil is none.
func (w *svgWriter) document(l *sheets.Layout, bounds geom.Box, outlines bool, picked []finish.Piece) {
	w.origin, w.pixel = bounds.Min, bounds.Width()/DefaultPixels
	figures := drawing.Pieces(l.Pieces)
	texts, legend := drawing.Texts(figures), !w.screen && !l.Pages[0].Cover
	if legend {
		texts = append(texts, l.Legend.Texts...)
	}
	w.head(bounds, outlines, titleOf(l.Style, l.Label), w.about(l))
	if outlines {
		w.glyphs(texts)
	} else {
		w.raw(`<g font-family="'Go', 'Noto Sans', 'DejaVu Sans', Verdana, sans-serif">` + "\n")
	}
	for i := range figures {
		figures[i].Description = describe(&l.Pieces[i])
		w.figure(&figures[i], "", outlines)
	}
	if legend {
		w.legend(&l.Legend, outlines)
	}
	if !outlines {
		w.end()
	}
	if picked != nil {
		w.picks(l.Pieces, picked)
	}
	w.raw("</svg>\n")
}

// titleOf returns the title of a file: reference and style.
func titleOf(style string, l finish.Label) string {
	if l.Reference == "" {
		return style
	}
	if style == "" {
		return l.Reference
	}
	return l.Reference + ": " + style
}

// about describes the drawing, for those who cannot see it.
func (w *svgWriter) about(l *sheets.Layout) string {
	pieces := "1 piece"
	if n := len(l.Pieces); n != 1 {
		pieces = fmt.Sprintf("%d pieces", n)
	}
	scale := "true scale, 1 unit is 1 mm"
	if w.screen {
		scale = "not to scale"
	}
	return fmt.Sprintf("Sewing pattern in %s, revision %d, %s.", pieces, l.Label.Revision, scale)
}

// legend draws the test squares and what the lines mean.
func (w *svgWriter) legend(l *sheets.Legend, outlines bool) {
	w.group(w.id("legend"), `fill="none" stroke="#000"`)
	for i, b := range l.Squares {
		corner := b.Min.Sub(w.origin)
		w.raw("<rect")
		w.identify(w.id("test-square", []string{"50mm", "2in"}[i]))
		w.length("x", corner.X)
		w.length("y", corner.Y)
		w.length("width", b.Width())
		w.length("height", b.Height())
		w.raw(" " + w.stroke(drawing.Fine) + "/>\n")
	}
	for _, k := range l.Keys {
		w.raw("<g " + w.stroke(patternPens[k.Kind]) + ">")
		w.path("", geom.Path{k.Stroke})
		w.end()
	}
	w.lettering(w.id("legend", "text"), l.Texts, outlines)
	w.end()
}
