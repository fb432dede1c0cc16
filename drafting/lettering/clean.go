package lettering

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Replacement stands for whatever the font cannot set: the character that
// Unicode has for it, which the font draws as a query in a lozenge.
const Replacement = unicode.ReplacementChar

// Clean is text as the font can set it, on one line. Letters written as base
// and accent are composed; spaces of any width become plain ones; every other
// rune that the font lacks, and every control or direction character, becomes
// the Replacement, so that a reader sees that something stood there.
func (f *Font) Clean(text string) string {
	if f.sets(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		switch {
		case f.Has(r):
			return r
		case unicode.Is(unicode.Zs, r):
			return ' '
		}
		return Replacement
	}, norm.NFC.String(text))
}

// sets reports whether text can be set as it stands.
func (f *Font) sets(text string) bool {
	if !utf8.ValidString(text) {
		return false
	}
	for _, r := range text {
		if !f.Has(r) {
			return false
		}
	}
	return true
}
