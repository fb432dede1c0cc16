package render

import (
	"strconv"
	"strings"
	"unicode"

	"github.com/mozillazg/go-unidecode"
	"golang.org/x/text/unicode/norm"
)

const (
	maxDXFText = 250 // a line of a DXF file of release 12 holds 256 bytes
	maxDXFName = 31
)

// ascii is text on one line of 7-bit letters: those of other alphabets are
// spelled in Latin ones, and what has no spelling becomes a question mark. The
// signs that a reader of DXF would take for codes are spelled apart.
func ascii(s string) string {
	var b strings.Builder
	for _, r := range norm.NFC.String(s) {
		switch {
		case r >= ' ' && r <= '~':
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // an accent that no letter has taken up
		case unicode.Is(unicode.Zs, r):
			b.WriteByte(' ')
		default:
			spelled := "?"
			if r > '~' && !unicode.IsControl(r) {
				if u := unidecode.Unidecode(string(r)); strings.TrimSpace(u) != "" {
					spelled = printable(strings.TrimPrefix(u, " "))
				}
			}
			b.WriteString(spelled)
		}
		if b.Len() >= maxDXFText {
			break
		}
	}
	// \U+0041 and \P, %%d and ^J are codes in DXF text.
	plain := strings.NewReplacer(`\`, "/", "%%", "% % ", "^", "^ ").Replace(b.String())
	return strings.TrimRight(plain[:min(len(plain), maxDXFText)], " ")
}

// printable is s without anything but printing 7-bit characters.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return -1
		}
		return r
	}, s)
}

// dxfNames are names of blocks for the names of pieces: capitals, figures, _
// and -, at most 31 of them, none twice.
func dxfNames(names []string) []string {
	taken := make(map[string]bool)
	unique := make([]string, len(names))
	for i, name := range names {
		base := strings.Map(func(r rune) rune {
			switch {
			case r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_', r == '-':
				return r
			}
			return '_'
		}, strings.ToUpper(ascii(name)))
		if strings.Trim(base, "_") == "" {
			base = "PIECE"
		}
		base = base[:min(len(base), maxDXFName)]
		candidate := base
		for n := 2; taken[candidate]; n++ {
			suffix := "_" + strconv.Itoa(n)
			candidate = base[:min(len(base), maxDXFName-len(suffix))] + suffix
		}
		taken[candidate] = true
		unique[i] = candidate
	}
	return unique
}
