package render

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// glyphUnits is the em in which glyphs are drawn: whole numbers are fine
// enough.
const glyphUnits = 1000.0

func glyphID(r rune) string { return fmt.Sprintf("glyph-%04x", r) }

// glyphs defines an outline for every letter of the labels, to be used
// wherever it stands.
func (w *svgWriter) glyphs(labels []finish.Text) {
	font := lettering.Regular()
	var used []rune
	for _, l := range labels {
		for _, line := range l.Lines {
			for _, r := range font.Clean(line) {
				if i, found := slices.BinarySearch(used, r); !found {
					used = slices.Insert(used, i, r)
				}
			}
		}
	}
	w.raw("<defs>\n")
	for _, r := range used {
		contours := font.Outline(string(r), glyphUnits)
		if len(contours) == 0 {
			continue // a space
		}
		w.inked[r] = true
		w.raw("<path")
		w.identify(glyphID(r))
		w.raw(` d="`)
		for _, c := range contours {
			w.contour(c)
		}
		w.raw("\"/>\n")
	}
	w.raw("</defs>\n")
}

// contour writes a closed contour in whole units, each place relative to the
// one before it as written.
func (w *svgWriter) contour(c geom.Path) {
	round := func(p geom.Point) geom.Point { return geom.Pt(math.Round(p.X), math.Round(p.Y)) }
	put := func(p geom.Point, first bool) {
		if !first && p.X >= 0 {
			w.raw(" ")
		}
		w.b = appendShort(w.b, p.X, 0)
		if p.Y >= 0 {
			w.raw(" ")
		}
		w.b = appendShort(w.b, p.Y, 0)
	}
	pen := round(c.Start())
	w.raw("M")
	put(pen, true)
	for _, s := range c {
		if s.Straight {
			w.raw("l")
		} else {
			w.raw("c")
			put(round(s.P1).Sub(pen), true)
			put(round(s.P2).Sub(pen), false)
		}
		put(round(s.P3).Sub(pen), s.Straight)
		pen = round(s.P3)
	}
	w.raw("Z")
}

// label letters a label, as outlines or as text.
func (w *svgWriter) label(l *finish.Text, outlines bool) {
	font := lettering.Regular()
	for i, line := range l.Lines {
		line = font.Clean(line)
		at := l.Baseline(i).Sub(w.origin)
		if outlines {
			w.outlined(line, at, l)
		} else {
			w.set(line, at, l)
		}
	}
}

// set writes a line as text, as wide as in the typeface that it was fitted
// with, whichever the reader has.
func (w *svgWriter) set(line string, at geom.Point, l *finish.Text) {
	w.raw("<text")
	w.length("x", at.X)
	w.length("y", at.Y)
	w.length("font-size", l.Size)
	w.length("textLength", lettering.Regular().Width(line, l.Size))
	w.raw(` lengthAdjust="spacingAndGlyphs"`)
	if turn := l.Angle * 180 / math.Pi; turn != 0 {
		w.raw(` transform="rotate(`)
		w.number(turn)
		w.raw(" ")
		w.number(at.X)
		w.raw(" ")
		w.number(at.Y)
		w.raw(`)"`)
	}
	w.raw(">")
	w.escape(line)
	w.raw("</text>\n")
}

// outlined writes a line as outlines, with its words for those who listen.
func (w *svgWriter) outlined(line string, at geom.Point, l *finish.Text) {
	w.raw(`<g transform="translate(`)
	w.number(at.X)
	w.raw(" ")
	w.number(at.Y)
	w.raw(")")
	if turn := l.Angle * 180 / math.Pi; turn != 0 {
		w.raw(" rotate(")
		w.number(turn)
		w.raw(")")
	}
	w.raw(" scale(")
	w.b = appendShort(w.b, l.Size/glyphUnits, 7)
	w.raw(")\"><title>")
	w.escape(line)
	w.raw("</title>")
	font := lettering.Regular()
	x := 0.0
	for _, r := range line {
		if w.inked[r] {
			w.raw(`<use xlink:href="#` + glyphID(r) + `"`)
			if x > 0 {
				w.raw(` x="`)
				w.b = appendShort(w.b, x, 0)
				w.raw(`"`)
			}
			w.raw("/>")
		}
		x += font.Width(string(r), glyphUnits)
	}
	w.raw("</g>\n")
}
