// Package fault holds what is wrong with an input: each fault names the field,
// the value found there and what is accepted, and all faults of an input are
// reported at once.
package fault

import (
	"fmt"
	"strings"
)

// Code is the stable name of a kind of fault, documented to callers.
type Code string

const (
	Unknown       Code = "unknown_field" // no such name is known here
	Missing       Code = "missing"       // a required field is absent
	Type          Code = "wrong_type"    // not the JSON type that is accepted
	Range         Code = "out_of_range"  // outside the hard limits
	Choice        Code = "not_a_choice"  // not one of the accepted values
	Duplicate     Code = "duplicate"     // the same key twice
	Syntax        Code = "not_json"      // not well-formed JSON
	Contradiction Code = "contradiction" // values that no body can have together
	Undraftable   Code = "undraftable"   // the block cannot be drafted to these values
)

// Fault is one thing wrong with an input.
type Fault struct {
	Code     Code   `json:"code"`
	Field    string `json:"field"`              // RFC 6901 JSON pointer into the input, "" for the whole
	Value    string `json:"value,omitempty"`    // as given, shortened
	Accepted string `json:"accepted,omitempty"` // what would be accepted, or why not
}

func (f Fault) Error() string {
	field := f.Field
	if field == "" {
		field = "input"
	}
	if f.Value == "" {
		return fmt.Sprintf("%s: %s", field, f.Accepted)
	}
	return fmt.Sprintf("%s: %s: %s", field, f.Value, f.Accepted)
}

// List is all the faults of one input. As an error it is one line a fault.
type List []Fault

func (l List) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Err is l as an error, nil when there is no fault.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Shorten cuts a value for showing in a fault: at most 40 runes, quotes and
// control characters escaped.
func Shorten(v string) string {
	r := []rune(v)
	if len(r) > 40 {
		r = append(r[:39:39], '…')
	}
	return fmt.Sprintf("%q", string(r))
}
