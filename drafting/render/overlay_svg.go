package render

import (
	"io"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// OverlaySVG writes a picture of what moved from one pattern to another of the
// same order, as wide as its window: the seam line of every piece before,
// dashed and grey, and after, solid, on the same grain; the largest move of
// each ringed, with its mm. Nothing is written if an error is returned, but by
// w itself.
func OverlaySVG(w io.Writer, was, now finish.Pattern) error {
	o, err := layOverlay(was, now, func(b geom.Box) float64 {
		return legiblePixels / screenPixels * max(b.Width(), b.Height())
	})
	if err != nil {
		return err
	}
	s := svgWriter{b: make([]byte, 0, 1<<16), ids: map[string]bool{}, inked: map[rune]bool{}, screen: true, origin: o.bounds.Min,
		pixel: o.bounds.Width() / DefaultPixels}
	s.overlay(&o)
	if s.broken {
		return errNowhere
	}
	_, err = w.Write(s.b)
	return err
}

func (w *svgWriter) overlay(o *overlay) {
	w.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" version=\"1.1\" viewBox=\"0 0 ")
	w.number(o.bounds.Width())
	w.raw(" ")
	w.number(o.bounds.Height())
	w.raw("\">\n")
	w.element("title", titleOf(o.style, o.label))
	var says []string
	for _, q := range o.pieces {
		says = append(says, q.says)
	}
	w.element("desc", "What moved, not to scale. "+strings.Join(says, "; ")+".")
	w.glyphs(o.labels())
	w.group(w.id("heading"), `fill="none" stroke="#000"`)
	for i, key := range o.keys {
		w.strokes("", []geom.Path{{key}}, [...]*style{formerLine, newLine}[i])
	}
	w.lettering(w.id("heading", "text"), o.head, true)
	w.end()
	for i := range o.pieces {
		w.overlaid(&o.pieces[i])
	}
	w.raw("</svg>\n")
}

// overlaid writes the group of a piece.
func (w *svgWriter) overlaid(q *overlaid) {
	id := w.id("piece", q.name)
	w.group(id, `fill="none" stroke="#000"`)
	w.element("title", q.says)
	w.strokes(w.id(id, "before"), q.was, formerLine)
	w.strokes(w.id(id, "after"), q.now, newLine)
	w.strokes(w.id(id, "grain"), []geom.Path{{q.grain}}, guideLine)
	if m := q.mark; m != nil {
		w.raw(`<g fill="#fff" fill-opacity="0.85" stroke="none">` + "\n")
		w.path("", m.behind)
		w.end()
		w.strokes(w.id(id, "move"), []geom.Path{{m.arrow}}, moveLine)
		w.group(w.id(id, "ring"), w.stroke(fine))
		w.circle("", m.circle, m.radius)
		w.end()
		w.lettering(w.id(id, "largest"), []finish.Text{m.label}, true)
	}
	w.lettering(w.id(id, "caption"), []finish.Text{q.caption}, true)
	w.end()
}

// strokes writes paths in one style.
func (w *svgWriter) strokes(id string, paths []geom.Path, s *style) {
	if len(paths) == 0 {
		return
	}
	w.raw("<g")
	if id != "" {
		w.attribute("id", id)
	}
	w.raw(" " + w.stroke(s))
	if s.grey > 0 {
		w.attribute("stroke", greyHex(s.grey))
	}
	w.raw(">\n")
	for _, p := range paths {
		w.path("", p)
	}
	w.end()
}

// greyHex is a grey, 0 for black, as a colour of SVG.
func greyHex(grey float64) string {
	const digits = "0123456789abcdef"
	v := byte(grey*255 + 0.5)
	pair := string([]byte{digits[v>>4], digits[v&15]})
	return "#" + pair + pair + pair
}
