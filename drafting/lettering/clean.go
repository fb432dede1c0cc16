package lettering

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Replacement is the character for runes that the font cannot set: Unicode's
// replacement character, which the font draws as a question mark in a lozenge.
const Replacement = unicode.ReplacementChar

// Clean returns text as the font can set it, on one line. It composes letters
// written as base and accent, and turns spaces of any width into plain ones. Every
// other rune that the font lacks, and every control or direction character,
// becomes the Replacement, so that a reader sees that something is missing.
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

// Line returns text as the font can set it, without space around it. Text of more
// than limit runes is cut there and ends in an ellipsis; 0 is no limit.
func (f *Font) Line(text string, limit int) string {
	n := 0
	for i := range text {
		if n++; n > limit && limit > 0 {
			text = text[:i] + "…"
			break
		}
	}
	return strings.TrimSpace(f.Clean(text))
}

// sets reports whether the font can set text without cleaning.
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
