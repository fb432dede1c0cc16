package render

import (
	"fmt"
	"strconv"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// On a screen a mm of a stroke's width is 4 pixels, one of its dashes 1.5, in a
// window DefaultPixels wide; in others in proportion, as not every viewer knows
// strokes that keep their width.
const (
	screenWidth = 4.0
	screenDash  = 1.5
)

// stroke is a style as attributes.
func (w *svgWriter) stroke(s *style) string {
	if w.screen {
		return strokeOf(s, screenWidth*w.pixel, screenDash*w.pixel)
	}
	return strokeOf(s, 1, 1)
}

// strokeOf is a style as attributes, its lengths multiplied.
func strokeOf(s *style, width, dash float64) string {
	b := append([]byte(nil), `stroke-width="`...)
	b = append(appendShort(b, s.width*width, svgDecimals), '"')
	for i, d := range s.dash {
		if i == 0 {
			b = append(b, ` stroke-dasharray="`...)
		} else {
			b = append(b, ' ')
		}
		b = appendShort(b, d*dash, svgDecimals)
		if i == len(s.dash)-1 {
			b = append(b, '"')
		}
	}
	return string(b)
}

// piece writes the group of a piece.
func (w *svgWriter) piece(p *finish.Piece, outlines bool) {
	id := w.id("piece", p.Name)
	w.group(id, `fill="none" stroke="#000"`)
	w.element("title", p.Title)
	w.element("desc", aboutPiece(p))
	part := func(name, attributes string, draw func(id string)) {
		sub := w.id(id, name)
		w.group(sub, attributes)
		draw(sub)
		w.end()
	}
	part("cut-line", w.stroke(cutLine)+w.cloth(), func(sub string) { w.path(w.id(sub, "path"), p.CutLine) })
	part("seam-line", w.stroke(seamLine), func(sub string) {
		for _, e := range p.Edges {
			w.path(w.id(id, "edge", e.Name), e.Path)
		}
	})
	if len(p.Darts) > 0 {
		part("darts", w.stroke(seamLine), func(string) {
			for _, d := range p.Darts {
				w.path(w.id(id, "dart", d.Name, "leg", "1"), d.Legs[0])
				w.path(w.id(id, "dart", d.Name, "leg", "2"), d.Legs[1])
			}
		})
	}
	if len(p.Lines) > 0 {
		part("internal-lines", w.stroke(guideLine), func(string) {
			for _, l := range p.Lines {
				w.path(w.id(id, "line", l.Name), l.Path)
			}
		})
	}
	if len(p.Ticks) > 0 {
		part("notches", w.stroke(fine), func(string) {
			for _, t := range p.Ticks {
				w.path(w.id(id, "notch", p.Notches[t.Notch].Edge), geom.Path{t.Stroke})
			}
		})
	}
	if len(p.Drills)+len(p.Marks) > 0 {
		part("marks", w.stroke(fine), func(string) { w.marks(id, p) })
	}
	part("grain", w.stroke(fine), func(string) { w.grain(id, p) })
	w.lettering(w.id(id, "text"), p.Texts, outlines)
	w.end()
}

// cloth tints the piece on a screen.
func (w *svgWriter) cloth() string {
	if w.screen {
		return ` fill="#f4f4f4"`
	}
	return ""
}

// marks writes drill holes and bust points.
func (w *svgWriter) marks(id string, p *finish.Piece) {
	for i, d := range p.Drills {
		w.circle(w.id(id, "drill", strconv.Itoa(i+1)), d, drillRadius)
	}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			w.circle(w.id(id, "mark", m.Name), m.At, bustRadius)
			for _, r := range []geom.Point{{X: bustRadius}, {Y: bustRadius}} {
				w.path("", geom.Path{geom.Line(m.At.Sub(r), m.At.Add(r))})
			}
		}
	}
}

// grain writes the grain line, the fold brackets and their arrow heads.
func (w *svgWriter) grain(id string, p *finish.Piece) {
	if p.Grain.P0 != p.Grain.P3 {
		w.path(w.id(id, "grain-line"), geom.Path{p.Grain})
	}
	for i, b := range p.Brackets {
		w.path(w.id(id, "fold", strconv.Itoa(i+1)), b)
	}
	if len(p.Arrows) == 0 {
		return
	}
	w.raw(`<path stroke="none" fill="#000" d="`)
	for _, a := range p.Arrows {
		w.data(a)
	}
	w.raw("\"/>\n")
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

// aboutPiece says how a piece is cut and how large it is.
func aboutPiece(p *finish.Piece) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Cut %d", p.Cut.Count)
	if p.Cut.OnFold {
		b.WriteString(" on fold")
	}
	if p.Cut.Pair {
		b.WriteString(" in pairs")
	}
	box := p.Bounds()
	fmt.Fprintf(&b, ". %.0f mm wide, %.0f mm high.", box.Width(), box.Height())
	return b.String()
}
