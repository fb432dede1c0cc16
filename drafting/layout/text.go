package layout

import (
	"strings"

	"tapeline/drafting/lettering"
)

// clean is text as the font sets it, on one line.
func clean(s string) string { return strings.TrimSpace(lettering.Regular().Clean(s)) }

// wrap breaks text into lines no wider than width mm: at spaces, and inside a
// word only where the word alone is too wide.
func wrap(s string, size, width float64) []string {
	font := lettering.Regular()
	var lines []string
	line := ""
	for _, word := range strings.Fields(clean(s)) {
		if line != "" && font.Width(line+" "+word, size) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for font.Width(word, size) > width {
			n := fitting(word, size, width)
			lines = append(lines, word[:n])
			word = word[n:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitting is how many bytes of s are set in width mm: whole runes, at least one.
func fitting(s string, size, width float64) int {
	font := lettering.Regular()
	var w float64
	for i, r := range s {
		if w += font.Width(string(r), size); w > width && i > 0 {
			return i
		}
	}
	return len(s)
}

// shorten cuts text off with an ellipsis where it is wider than width mm.
func shorten(s string, size, width float64) string {
	font := lettering.Regular()
	if font.Width(s, size) <= width {
		return s
	}
	return s[:fitting(s, size, width-font.Width("…", size))] + "…"
}
