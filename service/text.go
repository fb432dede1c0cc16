package service

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"tapeline/drafting/fault"
)

// CheckLine returns the fault of a text that is not one line of min to max characters,
// or that has characters which reorder or hide others; nil if it has none.
func CheckLine(field, text string, min, max int) Faults {
	return checkText(field, text, min, max, unicode.IsControl, "one line")
}

// CheckLines is CheckLine for a text of several lines.
func CheckLines(field, text string, min, max int) Faults {
	return checkText(field, text, min, max, func(c rune) bool {
		return unicode.IsControl(c) && c != '\n' && c != '\t'
	}, "text")
}

// CheckReason returns the fault of a person's reason for something, nil if it has none.
func CheckReason(text string) Faults { return CheckLines("/reason", text, 0, 500) }

func checkText(field, text string, min, max int, refused func(rune) bool, kind string) Faults {
	n := utf8.RuneCountInString(text)
	if n >= min && n <= max && utf8.ValidString(text) &&
		!strings.ContainsFunc(text, func(c rune) bool { return refused(c) || misleads(c) }) {
		return nil
	}
	return Faults{{Code: fault.Format, Field: field, Value: fault.Shorten(text),
		Accepted: fmt.Sprintf("%s of %d to %d characters, without characters that control or reorder text", kind, min, max)}}
}

// misleads reports whether a character breaks a line or reorders what follows, without
// being seen.
func misleads(c rune) bool {
	return c == '\u2028' || c == '\u2029' || c >= '\u202A' && c <= '\u202E' || c >= '\u2066' && c <= '\u2069'
}
