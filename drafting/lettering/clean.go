package lettering

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/mozillazg/go-unidecode"
	"golang.org/x/text/unicode/norm"
)

// Replacement is Unicode's replacement character, which stands for broken text.
const Replacement = unicode.ReplacementChar

// unspelled stands for characters that have no spelling, such as emoji.
const unspelled = "[?]"

// Clean returns text as the font can set it, on one line. It composes letters
// written as base and accent, and turns spaces of any width into plain ones. It
// spells other letters that the font lacks in Latin ones, character by character,
// drops what has no look of its own, such as direction characters and accents
// without a letter, and puts [?] for the rest.
//
// A font with all letters in use would be larger than all else that is embedded:
// Han, kana and Hangul alone take 4 MB, and scripts whose letters join or are read
// from the right also need shaping, which PDF writers lack.
func (f *Font) Clean(text string) string {
	if f.sets(text) {
		return text
	}
	var b strings.Builder
	missing := false // the last character was not spelled
	for _, r := range norm.NFC.String(text) {
		spelled := f.spell(r)
		if spelled == unspelled && missing {
			continue // one sign for a run of them
		}
		missing = spelled == unspelled
		b.WriteString(spelled)
	}
	return b.String()
}

// spell returns a character as the font can set it.
func (f *Font) spell(r rune) string {
	switch {
	case f.Has(r) && r != Replacement:
		return string(r)
	case unicode.Is(unicode.Zs, r):
		return " "
	case r == '\n' || r == '\t' || r == '\r':
		return " "
	case unicode.IsControl(r), unicode.Is(unicode.Cf, r), unicode.Is(unicode.M, r):
		return ""
	}
	latin := unidecode.Unidecode(string(r))
	if r == Replacement || strings.TrimSpace(latin) == "" || !f.sets(latin) || strings.Contains(latin, unspelled) {
		return unspelled
	}
	return latin
}

// Spells reports whether Clean spells or drops a character of the text.
func (f *Font) Spells(text string) bool {
	for _, r := range norm.NFC.String(text) {
		if (!f.Has(r) || r == Replacement) && !unicode.Is(unicode.Zs, r) {
			return true
		}
	}
	return false
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
		if !f.Has(r) || r == Replacement {
			return false
		}
	}
	return true
}
