package render

import (
	"fmt"
	"io"
	"strings"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// On a screen a mm of a line's width is 4 pixels, one of its dashes 1.5, in a
// window DefaultPixels wide; in others in proportion, because not every viewer
// knows lines that keep their width.
const (
	screenWidth = 4.0
	screenDash  = 1.5
)

func newSVGWriter(screen bool) svgWriter {
	return svgWriter{b: make([]byte, 0, 1<<17), ids: map[string]bool{}, inked: map[rune]bool{}, screen: screen}
}

// writeTo writes the document, unless something in it has no position.
func (w *svgWriter) writeTo(out io.Writer) error {
	if w.broken {
		return sheets.ErrNowhere
	}
	_, err := out.Write(w.b)
	return err
}

// head starts the document, in mm unless it is for screens.
func (w *svgWriter) head(bounds geom.Box, outlines bool, title, description string) {
	w.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\"")
	if outlines {
		w.raw(` xmlns:xlink="http://www.w3.org/1999/xlink"`)
	}
	w.raw(` version="1.1"`)
	if !w.screen {
		w.raw(` width="`)
		w.number(bounds.Width())
		w.raw(`mm" height="`)
		w.number(bounds.Height())
		w.raw(`mm"`)
	}
	w.raw(` viewBox="0 0 `)
	w.number(bounds.Width())
	w.raw(" ")
	w.number(bounds.Height())
	w.raw("\">\n")
	w.element("title", title)
	w.element("desc", description)
}

// stroke returns a pen as attributes.
func (w *svgWriter) stroke(p *drawing.Pen) string {
	width, dash := 1.0, 1.0
	if w.screen {
		width, dash = screenWidth*w.pixel, screenDash*w.pixel
	}
	b := append([]byte(nil), `stroke-width="`...)
	b = append(appendShort(b, p.Width*width, svgDecimals), '"')
	for i, d := range p.Dash {
		if i == 0 {
			b = append(b, ` stroke-dasharray="`...)
		} else {
			b = append(b, ' ')
		}
		b = appendShort(b, d*dash, svgDecimals)
		if i == len(p.Dash)-1 {
			b = append(b, '"')
		}
	}
	if p.Grey > 0 {
		b = append(b, ` stroke="`+greyHex(p.Grey)+`"`...)
	}
	return string(b)
}

// greyHex returns a grey, 0 for black, as a colour of SVG.
func greyHex(grey float64) string {
	return "#" + strings.Repeat(fmt.Sprintf("%02x", byte(grey*255+0.5)), 3)
}

// picture writes a picture that fills its window.
func (w *svgWriter) picture(p drawing.Picture) {
	w.origin, w.pixel = p.Bounds.Min, p.Bounds.Width()/DefaultPixels
	w.head(p.Bounds, true, p.Title, p.Description)
	w.glyphs(drawing.Texts(p.Figures))
	for i := range p.Figures {
		w.figure(&p.Figures[i], "", true)
	}
	w.raw("</svg>\n")
}

// figure writes a group with a group for every part, and the figures in it. Ids
// begin with the parent's.
func (w *svgWriter) figure(f *drawing.Figure, parent string, outlines bool) {
	names := f.Name
	if parent != "" {
		names = append([]string{parent}, names...)
	}
	id := w.id(names...)
	w.group(id, `fill="none" stroke="#000"`)
	if f.Title != "" {
		w.element("title", f.Title)
	}
	if f.Description != "" {
		w.element("desc", f.Description)
	}
	for i := range f.Parts {
		w.part(&f.Parts[i], id, outlines)
	}
	for i := range f.Figures {
		w.figure(&f.Figures[i], id, outlines)
	}
	w.end()
}

func (w *svgWriter) part(p *drawing.Part, figure string, outlines bool) {
	if p.Texts != nil {
		w.lettering(w.id(figure, p.Name), p.Texts, outlines)
		return
	}
	if len(p.Shapes) == 0 {
		return
	}
	attributes := `fill="` + greyHex(1) + `" stroke="none"`
	if p.Pen != drawing.White {
		attributes = w.stroke(p.Pen)
	}
	if p.Layer == drawing.LayerCut && w.screen {
		attributes += ` fill="#f4f4f4"` // the cloth
	}
	w.group(w.id(figure, p.Name), attributes)
	filling := false // several shapes in one path
	for i := range p.Shapes {
		s := &p.Shapes[i]
		id := ""
		if s.Name != nil && (len(s.Path) > 0 || s.Radius > 0) {
			id = w.id(append([]string{figure}, s.Name...)...)
		}
		switch {
		case s.Radius > 0:
			w.circle(id, s.At, s.Radius)
		case s.Filled && p.Pen != drawing.White:
			if !filling {
				w.raw(`<path stroke="none" fill="#000" d="`)
			}
			w.data(s.Path)
			if filling = i+1 < len(p.Shapes) && p.Shapes[i+1].Filled; !filling {
				w.raw("\"/>\n")
			}
		default:
			w.path(id, s.Path)
		}
	}
	w.end()
}

func (w *svgWriter) lettering(id string, labels []finish.Text, outlines bool) {
	if len(labels) == 0 {
		return
	}
	w.group(id, `fill="#000" stroke="none"`)
	for i := range labels {
		w.label(&labels[i], outlines)
	}
	w.end()
}

// describe says how a piece is cut and how large it is.
func describe(p *finish.Piece) string {
	box := p.Bounds()
	return fmt.Sprintf("%s. %.0f mm wide, %.0f mm high.", p.Cut, box.Width(), box.Height())
}
