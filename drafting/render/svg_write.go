package render

import (
	"strconv"
	"strings"

	"tapeline/drafting/geom"
)

// svgDecimals of a mm are written: a thousandth.
const svgDecimals = 3

// svgWriter writes elements one after another. Places are given on the sheet.
type svgWriter struct {
	b      []byte
	origin geom.Point      // of the sheet that becomes 0,0 in the file, mm
	screen bool            // to be shown in a window of any width
	pixel  float64         // on a screen, mm in a pixel of a window DefaultPixels wide
	ids    map[string]bool // those in use
	inked  map[rune]bool   // letters whose outlines are defined: not spaces
	broken bool            // something is nowhere
}

func (w *svgWriter) raw(s string) { w.b = append(w.b, s...) }

// number writes a length in mm without needless noughts.
func (w *svgWriter) number(v float64) { w.b = appendShort(w.b, v, svgDecimals) }

// appendShort writes v to the given decimals, without trailing zeros.
func appendShort(b []byte, v float64, decimals int) []byte {
	b = appendFixed(b, v, decimals)
	if decimals == 0 {
		return b
	}
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if b[len(b)-1] == '.' {
		b = b[:len(b)-1]
	}
	return b
}

// identify writes the id attribute, its value escaped.
func (w *svgWriter) identify(id string) {
	w.raw(` id="`)
	w.escape(id)
	w.raw(`"`)
}

func (w *svgWriter) length(name string, mm float64) {
	w.raw(" " + name + `="`)
	w.number(mm)
	w.raw(`"`)
}

// escape writes text so that it can stand in an element or an attribute;
// what XML 1.0 cannot hold becomes the replacement character.
func (w *svgWriter) escape(s string) {
	for _, r := range s {
		switch {
		case r == '&':
			w.raw("&amp;")
		case r == '<':
			w.raw("&lt;")
		case r == '>':
			w.raw("&gt;")
		case r == '"':
			w.raw("&quot;")
		case r < ' ', r == 0xFFFE, r == 0xFFFF:
			w.raw("\uFFFD")
		default:
			w.b = append(w.b, string(r)...) // a broken byte has become the replacement character
		}
	}
}

// element writes an element that holds nothing but text.
func (w *svgWriter) element(name, text string) {
	w.raw("<" + name + ">")
	w.escape(text)
	w.raw("</" + name + ">\n")
}

// id claims a name in the document: letters, figures, ., _ and - of the parts,
// joined by -. It depends on the parts alone, except for a second of the same
// name, which gets a number.
func (w *svgWriter) id(parts ...string) string {
	base := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_', r == '-', r == '.':
			return r
		}
		return '_'
	}, strings.Join(parts, "-"))
	id := base
	for n := 2; w.ids[id]; n++ {
		id = base + "-" + strconv.Itoa(n)
	}
	w.ids[id] = true
	return id
}

// group starts a group; close it with end.
func (w *svgWriter) group(id, attributes string) {
	w.raw("<g")
	w.identify(id)
	if attributes != "" {
		w.raw(" " + attributes)
	}
	w.raw(">\n")
}

func (w *svgWriter) end() { w.raw("</g>\n") }

// path writes a path, curves as curves; no id if it is empty.
func (w *svgWriter) path(id string, p geom.Path) {
	if len(p) == 0 {
		return
	}
	w.raw("<path")
	if id != "" {
		w.identify(id)
	}
	w.raw(` d="`)
	w.data(p)
	w.raw("\"/>\n")
}

// PathData returns paths as the data of a path of SVG, in mm.
func PathData(paths ...geom.Path) string {
	var w svgWriter
	for _, p := range paths {
		if len(p) > 0 {
			w.data(p)
		}
	}
	return string(w.b)
}

// data writes path data in absolute places.
func (w *svgWriter) data(p geom.Path) {
	w.raw("M")
	w.place(p.Start())
	last := len(p) - 1
	closed := p.Closed()
	command := ""
	for i, s := range p {
		if closed && i == last && s.Straight {
			break // Z draws it
		}
		c := "C"
		if s.Straight {
			c = "L"
		}
		if c != command { // the same command need not be said again
			w.raw(c)
			command = c
		} else {
			w.raw(" ")
		}
		if !s.Straight {
			w.place(s.P1)
			w.raw(" ")
			w.place(s.P2)
			w.raw(" ")
		}
		w.place(s.P3)
	}
	if closed {
		w.raw("Z")
	}
}

func (w *svgWriter) place(p geom.Point) {
	p = p.Sub(w.origin)
	w.broken = w.broken || !p.Finite()
	w.number(p.X)
	w.raw(" ")
	w.number(p.Y)
}

// circle writes a circle.
func (w *svgWriter) circle(id string, at geom.Point, r float64) {
	at = at.Sub(w.origin)
	w.raw("<circle")
	if id != "" {
		w.identify(id)
	}
	w.length("cx", at.X)
	w.length("cy", at.Y)
	w.length("r", r)
	w.raw("/>\n")
}
