// Package lettering is the embedded typeface that every format letters with:
// its widths, its outlines, and the cleaning of text that it cannot set. It
// covers Latin, Greek and Cyrillic.
//
// The typeface is the Go font family (golang.org/x/image/font/gofont, BSD
// licence). Sizes are the height of the em in mm; a Font is read-only and can
// be shared between goroutines.
package lettering

import (
	"fmt"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Font is one weight of the typeface.
type Font struct {
	ttf     []byte
	sfnt    *sfnt.Font
	glyphs  map[rune]glyph
	unit    float64 // design units in an em
	ascent  float64 // in ems
	descent float64
	height  float64
	capital float64
}

// glyph is what setting a rune needs to know.
type glyph struct {
	index   sfnt.GlyphIndex
	advance float64 // in ems
}

// Regular is the weight that everything is lettered in.
var Regular = sync.OnceValue(func() *Font { return mustParse(goregular.TTF) })

// Bold is the heavy weight.
var Bold = sync.OnceValue(func() *Font { return mustParse(gobold.TTF) })

// mustParse reads an embedded font; it can only fail if the build is broken.
func mustParse(ttf []byte) *Font {
	f, err := parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("embedded font: %v", err))
	}
	return f
}

func parse(ttf []byte) (*Font, error) {
	s, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
	}
	var buf sfnt.Buffer
	em := fixed.I(int(s.UnitsPerEm())) // at this scale one unit is one pixel: nothing is rounded
	m, err := s.Metrics(&buf, em, font.HintingNone)
	if err != nil {
		return nil, err
	}
	f := &Font{ttf: ttf, sfnt: s, glyphs: make(map[rune]glyph, s.NumGlyphs()), unit: float64(s.UnitsPerEm())}
	f.ascent, f.descent, f.height, f.capital = f.ems(m.Ascent), f.ems(m.Descent), f.ems(m.Height), f.ems(m.CapHeight)
	for r := range rune(0x10000) { // the font holds nothing beyond the basic plane
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
		f.glyphs[r] = glyph{i, f.ems(advance)}
	}
	return f, nil
}

func (f *Font) ems(v fixed.Int26_6) float64 { return float64(v) / 64 / f.unit }

// TTF is the TrueType file, for formats that embed it. Do not write into it.
func (f *Font) TTF() []byte { return f.ttf }

// Has reports whether the font can set r.
func (f *Font) Has(r rune) bool {
	_, ok := f.glyphs[r]
	return ok
}

// Width is how far text runs at a size, mm; the cleaned text's width where
// the font lacks a rune.
func (f *Font) Width(text string, size float64) float64 {
	var ems float64
	for _, r := range text {
		g, ok := f.glyphs[r]
		if !ok {
			return f.Width(f.Clean(text), size)
		}
		ems += g.advance
	}
	return ems * size
}

// Ascent is how far the letters may rise above the baseline, mm.
func (f *Font) Ascent(size float64) float64 { return f.ascent * size }

// Descent is how far the letters may hang below the baseline, mm, positive.
func (f *Font) Descent(size float64) float64 { return f.descent * size }

// CapHeight is the height of a capital letter, mm.
func (f *Font) CapHeight(size float64) float64 { return f.capital * size }

// LineHeight is the step from one baseline to the next, mm.
func (f *Font) LineHeight(size float64) float64 { return f.height * size }
