package plausible

import (
	"strconv"
	"strings"
)

// maxTyped is the maximum number of characters that a person types for a length.
// A longer number comes from arithmetic, and its digits mean nothing.
const maxTyped = 7

// formatTyped formats a number as a person types it. It returns "" for numbers
// that nobody types.
func formatTyped(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if len(s) > maxTyped || strings.HasPrefix(s, "-") {
		return ""
	}
	return s
}

// swapDigits calls yield with each number made by swapping two neighbouring
// digits, which may have the decimal point between them.
func swapDigits(s string, yield func(v float64)) {
	last := -1
	for i := range len(s) {
		if s[i] == '.' {
			continue
		}
		if last >= 0 && s[last] != s[i] {
			b := []byte(s)
			b[last], b[i] = b[i], b[last]
			if v, err := strconv.ParseFloat(string(b), 64); err == nil && b[0] != '0' {
				yield(v)
			}
		}
		last = i
	}
}

// changeLeading calls yield with the number before a leading 1 was lost, which
// is half of such mistakes, and with each number that differs in the first
// digit. It passes the number of alternatives too.
func changeLeading(s string, yield func(v, alternatives float64)) {
	if s == "" || s[0] < '1' || s[0] > '9' {
		return
	}
	if v, err := strconv.ParseFloat("1"+s, 64); err == nil {
		yield(v, 2)
	}
	for d := byte('1'); d <= '9'; d++ {
		if d == s[0] {
			continue
		}
		if v, err := strconv.ParseFloat(string(d)+s[1:], 64); err == nil {
			yield(v, 2*8)
		}
	}
}
