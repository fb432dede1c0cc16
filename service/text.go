package service

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"tapeline/drafting/fault"
)

// CheckLine returns the fault of a text that is not one line of low to high characters,
// or that has characters which reorder or hide others; nil if it has none.
func CheckLine(field, text string, low, high int) Faults {
	return checkText(field, text, low, high, unicode.IsControl, "one line")
}

// CheckLines is CheckLine for a text of several lines.
func CheckLines(field, text string, low, high int) Faults {
	return checkText(field, text, low, high, func(c rune) bool {
		return unicode.IsControl(c) && c != '\n' && c != '\t'
	}, "text")
}

// CheckReason returns the fault of a person's reason for something, nil if it has none.
func CheckReason(text string) Faults { return CheckLines("/reason", text, 0, 500) }

func checkText(field, text string, low, high int, refused func(rune) bool, kind string) Faults {
	n := utf8.RuneCountInString(text)
	if n >= low && n <= high && utf8.ValidString(text) &&
		!strings.ContainsFunc(text, func(c rune) bool { return refused(c) || misleads(c) }) {
		return nil
	}
	return Faults{{Code: fault.Format, Field: field, Value: fault.Shorten(text),
		Accepted: fmt.Sprintf("%s of %d to %d characters, without characters that control or reorder text", kind, low, high)}}
}

// misleads reports whether a character breaks a line or reorders what follows, without
// being seen.
func misleads(c rune) bool {
	return c == '\u2028' || c == '\u2029' || c >= '\u202A' && c <= '\u202E' || c >= '\u2066' && c <= '\u2069'
}
