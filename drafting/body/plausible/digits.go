package plausible

import (
	"strconv"
	"strings"
)

// maxTyped is the most characters of a number that a person writes for a
// length; a longer one comes from arithmetic and its digits mean nothing.
const maxTyped = 7

// typed is a number as a person writes it, "" where nobody would.
func typed(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if len(s) > maxTyped || strings.HasPrefix(s, "-") {
		return ""
	}
	return s
}

// swaps calls yield with the number that each exchange of two neighbouring
// digits makes, across the decimal point too.
func swaps(s string, yield func(v float64)) {
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

// leading calls yield with the number that has lost a 1 before it, which is
// half of such mistakes, and those that have another first digit; of tells of
// how many each is one.
func leading(s string, yield func(v, of float64)) {
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
