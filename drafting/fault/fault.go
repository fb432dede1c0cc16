// Package fault describes what is wrong with an input. Each fault names the
// field, the value found there and what is accepted; a List has all faults of
// an input.
package fault

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Code identifies a kind of fault. Codes are stable and documented to callers.
type Code string

const (
	Unknown       Code = "unknown_field" // name that is unknown here
	Missing       Code = "missing"       // required field that is absent
	Type          Code = "wrong_type"    // value of another JSON type
	Format        Code = "wrong_format"  // string of another form
	Range         Code = "out_of_range"  // outside the hard limits
	Choice        Code = "not_a_choice"  // value that is not one of those accepted
	Duplicate     Code = "duplicate"     // key that occurs twice
	Size          Code = "too_large"     // input larger than the limit
	Syntax        Code = "not_json"      // not well-formed JSON
	Contradiction Code = "contradiction" // values that no body has together
	Undraftable   Code = "undraftable"   // values to which the block cannot be drafted
	Implausible   Code = "implausible"   // number that does not fit the others and needs a question
	Script        Code = "script"        // error in a style's script
	Costly        Code = "too_costly"    // input that takes more time or memory than work may
)

// Fault is one thing wrong with an input.
type Fault struct {
	Code     Code     `json:"code"`
	Field    string   `json:"field"`              // RFC 6901 JSON pointer into the input, "" for the whole input
	Value    string   `json:"value,omitempty"`    // as given, shortened
	Accepted string   `json:"accepted,omitempty"` // what is accepted, or why the value is not
	Related  []string `json:"related,omitempty"`  // pointers to the other fields of a contradiction

	Explanation string `json:"explanation,omitempty"` // likely mistake behind an implausible number
	Line        int    `json:"line,omitempty"`        // in a script
}

// Error returns the fault in one line: field, value and what is accepted.
func (f Fault) Error() string {
	parts := []string{cmp.Or(f.Field, "input")}
	if f.Value != "" {
		parts = append(parts, f.Value)
	}
	if f.Accepted != "" {
		parts = append(parts, f.Accepted)
	}
	return strings.Join(parts, ": ")
}

// List has the faults of one input.
type List []Fault

// Error returns the faults, one per line.
func (l List) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Err returns l, or nil if l is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// OneOf returns the fault of a value that is none of the choices, or no fault.
func OneOf[T ~string](field string, value T, choices ...T) List {
	if slices.Contains(choices, value) {
		return nil
	}
	accepted := make([]string, len(choices))
	for i, c := range choices {
		accepted[i] = string(c)
	}
	return List{{Code: Choice, Field: field, Value: Shorten(string(value)), Accepted: strings.Join(accepted, ", ")}}
}

var pointerEscape = strings.NewReplacer("~", "~0", "/", "~1")

// Pointer returns the RFC 6901 JSON pointer of a path of keys from the root.
func Pointer(keys ...string) string {
	pointer := ""
	for _, k := range keys {
		pointer += "/" + pointerEscape.Replace(k)
	}
	return pointer
}

// Shorten quotes a value for a fault. It shows at most 40 runes and escapes
// quotes and control characters.
func Shorten(v string) string {
	n := 0
	for i := range v {
		if n++; n == 40 && utf8.RuneCountInString(v[i:min(len(v), i+2*utf8.UTFMax)]) > 1 {
			return fmt.Sprintf("%q", v[:i]+"…")
		}
	}
	return fmt.Sprintf("%q", v)
}
