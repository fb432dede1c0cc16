package lettering

import "strings"

// Wrap breaks text, cleaned already, into lines no wider than width mm: at
// spaces, and inside a word only where the word alone is too wide. What is left
// after limit lines is dropped, an ellipsis in its place; 0 is no limit.
func (f *Font) Wrap(text string, size, width float64, limit int) []string {
	if f.Width(text, size) <= width {
		return []string{text}
	}
	var lines []string
	for rest := text; rest != ""; {
		fits := f.fitting(rest, size, width)
		if len(lines)+1 == limit && fits < len(rest) {
			room := width - f.Width("…", size)
			return append(lines, strings.TrimRight(rest[:f.fitting(rest, size, room)], " ")+"…")
		}
		if fits < len(rest) && rest[fits] != ' ' {
			if space := strings.LastIndexByte(rest[:fits], ' '); space > 0 {
				fits = space
			}
		}
		lines = append(lines, strings.TrimRight(rest[:fits], " "))
		rest = strings.TrimLeft(rest[fits:], " ")
	}
	return lines
}

// fitting is how many bytes of s are set in width mm, whole runes and at least
// one.
func (f *Font) fitting(s string, size, width float64) int {
	var w float64
	for i, r := range s {
		if w += f.Width(string(r), size); w > width && i > 0 {
			return i
		}
	}
	return len(s)
}
