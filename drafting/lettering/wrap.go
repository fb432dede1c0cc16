package lettering

import "strings"

// Wrap cleans text as Line does and breaks it into lines no wider than width mm:
// at spaces, and inside a word only if the word alone is too wide. After limit
// lines an ellipsis replaces the rest; 0 is no limit. Empty text has no lines.
func (f *Font) Wrap(text string, size, width float64, limit int) []string {
	switch text = f.Line(text, 0); {
	case text == "":
		return nil
	case f.Width(text, size) <= width:
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

// fitting returns how many bytes of s fit into width mm: whole runes, at least
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
