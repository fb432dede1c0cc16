package fault

import (
	"strings"

	"github.com/agnivade/levenshtein"
)

// Nearest is the known name that an unknown one was most likely meant to be,
// "" where none is near: one spelt with few slips, or one that begins with it.
func Nearest(name string, known []string) string {
	if name == "" || len(name) > 64 {
		return ""
	}
	name = strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return '_'
		}
		return r
	}, strings.ToLower(name))
	best, least := "", 1+max(1, len(name)/4)
	for _, k := range known {
		if d := levenshtein.ComputeDistance(name, k); d < least {
			best, least = k, d
		}
	}
	if best != "" || len(name) < 3 {
		return best
	}
	for _, k := range known {
		if strings.HasPrefix(k, name) {
			return k
		}
	}
	return ""
}

// UnknownName is the fault of a name that is not known at a field, with the
// nearest of those that are; what says what kind of name it would be.
func UnknownName(field, name, what string, known []string) Fault {
	f := Fault{Code: Unknown, Field: field, Value: Shorten(name)}
	switch near := Nearest(name, known); {
	case near != "":
		f.Accepted = "no such " + what + "; did you mean " + near + "?"
	case len(known) > 0 && len(known) <= 16:
		f.Accepted = "no such " + what + "; known are " + strings.Join(known, ", ")
	default:
		f.Accepted = "no such " + what
	}
	return f
}
