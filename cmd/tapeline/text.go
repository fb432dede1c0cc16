package main

import (
	"errors"
	"strconv"
	"strings"

	"tapeline/drafting/fault"
)

// faultsOf is the list of faults that an error is; any other error becomes a
// fault of the whole input.
func faultsOf(err error) fault.List {
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

// decimals writes a number with at most so many decimals, without trailing
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

// signed writes a difference with its sign and so many decimals; one that
// rounds to nothing has no sign.
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
