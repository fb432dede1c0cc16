package sheets

import (
	"strings"

	"tapeline/drafting/lettering"
)

// clean is text as the font sets it, on one line.
func clean(s string) string { return strings.TrimSpace(lettering.Regular().Clean(s)) }

// wrap breaks text into lines no wider than width mm; none for no text.
func wrap(s string, size, width float64) []string {
	if s = clean(s); s == "" {
		return nil
	}
	return lettering.Regular().Wrap(s, size, width, 0)
}
