package main

import (
	"errors"
	"fmt"
	"io"
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

// printFaults writes one line a fault, each with the name of the input, which
// stands for a fault of the whole.
func printFaults(w io.Writer, file string, faults fault.List) {
	for _, f := range faults {
		text := f.Error()
		if f.Field == "" {
			text = strings.TrimPrefix(text, "input: ")
		}
		fmt.Fprintf(w, "%s: %s\n", inputName(file), text)
	}
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
