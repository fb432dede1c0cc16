package files

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/fault"
)

// FaultsOf returns the faults that an error contains. Any other error becomes
// a fault of the whole input.
func FaultsOf(err error) fault.List {
	if err == nil {
		return nil
	}
	if list, ok := errors.AsType[fault.List](err); ok {
		return list
	}
	if one, ok := errors.AsType[fault.Fault](err); ok {
		return fault.List{one}
	}
	return fault.List{{Code: fault.Undraftable, Accepted: err.Error()}}
}

// mergeFaults appends the faults that are not in the list yet.
func mergeFaults(list, more fault.List) fault.List {
	for _, f := range more {
		if !slices.ContainsFunc(list, func(g fault.Fault) bool { return g.Error() == f.Error() }) {
			list = append(list, f)
		}
	}
	return list
}

// decimals formats a number with at most the given decimals, without trailing
// zeros.
func decimals(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// signed formats a difference with its sign. One that rounds to zero has none.
func signed(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	switch {
	case strings.Trim(s, "-0.") == "":
		return " " + strings.TrimPrefix(s, "-")
	case v > 0:
		return "+" + s
	}
	return s
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
