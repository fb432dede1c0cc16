package fault

import (
	"strings"

	"github.com/agnivade/levenshtein"
)

// Nearest returns the known name that was most likely meant by an unknown one:
// the one at the smallest edit distance or, if all are far, the first that
// begins with the unknown name. It returns "" if there is none.
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
	best, distance := "", 1+max(1, len(name)/4)
	for _, k := range known {
		if d := levenshtein.ComputeDistance(name, k); d < distance {
			best, distance = k, d
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

// UnknownName returns the fault of an unknown name at a field. It suggests the
// nearest of the known names or lists them if they are few. Kind says what the
// name stands for, such as "measurement".
func UnknownName(field, name, kind string, known []string) Fault {
	accepted := "unknown " + kind
	if near := Nearest(name, known); near != "" {
		accepted += "; did you mean " + near + "?"
	} else if len(known) > 0 && len(known) <= 16 {
		accepted += "; known are " + strings.Join(known, ", ")
	}
	return Fault{Code: Unknown, Field: field, Value: Shorten(name), Accepted: accepted}
}
