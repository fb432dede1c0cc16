// Package lettering holds the embedded typeface of all formats: its widths and
// outlines, the wrapping of lines, and the cleaning of text that it cannot set. It
// covers Latin, Greek and Cyrillic.
//
// The typeface is the Go font family (golang.org/x/image/font/gofont, BSD
// licence). Sizes are the height of the em in mm. A Font is read-only, so
// goroutines may share it.
package lettering

import (
	"fmt"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Font is one weight of the typeface.
type Font struct {
	ttf     []byte
	sfnt    *sfnt.Font
	pages   [256]*[256]glyph // of runes, by their upper and lower byte; nil: no glyphs
	unit    float64          // design units in an em
	ascent  float64          // in ems
	height  float64
	capital float64
}

// glyph is the index and the width of a rune's glyph. Index 0 is a missing glyph.
type glyph struct {
	index   sfnt.GlyphIndex
	advance float64 // in ems
}

// Regular returns the weight of all lettering.
var Regular = sync.OnceValue(func() *Font { return mustParse(goregular.TTF) })

// mustParse reads an embedded font. It fails only if the build is broken.
func mustParse(ttf []byte) *Font {
	f, err := parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("embedded font: %v", err))
	}
	return f
}

// parse reads a TrueType font and the widths of its glyphs.
func parse(ttf []byte) (*Font, error) {
	s, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
	}
	var buf sfnt.Buffer
	em := fixed.I(int(s.UnitsPerEm())) // at this scale one unit is one pixel, without rounding
	m, err := s.Metrics(&buf, em, font.HintingNone)
	if err != nil {
		return nil, err
	}
	f := &Font{ttf: ttf, sfnt: s, unit: float64(s.UnitsPerEm())}
	f.ascent, f.height, f.capital = f.ems(m.Ascent), f.ems(m.Height), f.ems(m.CapHeight)
	for r := range rune(0x10000) { // the font has no glyphs beyond the basic plane
		if !unicode.IsGraphic(r) {
			continue
		}
		i, err := s.GlyphIndex(&buf, r)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			continue
		}
		advance, err := s.GlyphAdvance(&buf, i, em, font.HintingNone)
		if err != nil {
			return nil, err
		}
		if f.pages[r>>8] == nil {
			f.pages[r>>8] = new([256]glyph)
		}
		f.pages[r>>8][r&0xFF] = glyph{i, f.ems(advance)}
	}
	return f, nil
}

// ems converts design units to ems.
func (f *Font) ems(v fixed.Int26_6) float64 { return float64(v) / 64 / f.unit }

// TTF returns the TrueType file, for formats that embed it. Callers must not write
// into it.
func (f *Font) TTF() []byte { return f.ttf }

// glyph returns the glyph of a rune. ok is false if the font has none.
func (f *Font) glyph(r rune) (g glyph, ok bool) {
	if r < 0 || r >= 0x10000 || f.pages[r>>8] == nil {
		return glyph{}, false
	}
	g = f.pages[r>>8][r&0xFF]
	return g, g.index != 0
}

// Has reports whether the font can set r.
func (f *Font) Has(r rune) bool {
	_, ok := f.glyph(r)
	return ok
}

// Width returns the width of text at a size, mm. If the font lacks a rune, it is
// the width of the cleaned text.
func (f *Font) Width(text string, size float64) float64 {
	var ems float64
	for _, r := range text {
		g, ok := f.glyph(r)
		if !ok {
			return f.Width(f.Clean(text), size)
		}
		ems += g.advance
	}
	return ems * size
}

// Ascent returns the height of the highest letters above the baseline, mm.
func (f *Font) Ascent(size float64) float64 { return f.ascent * size }

// CapHeight returns the height of a capital letter, mm.
func (f *Font) CapHeight(size float64) float64 { return f.capital * size }

// LineHeight returns the distance from one baseline to the next, mm.
func (f *Font) LineHeight(size float64) float64 { return f.height * size }
