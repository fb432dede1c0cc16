// Package fault holds what is wrong with an input: each fault names the field,
// the value found there and what is accepted, and all faults of an input are
// reported at once.
package fault

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Code is the stable name of a kind of fault, documented to callers.
type Code string

const (
	Unknown       Code = "unknown_field" // no such name is known here
	Missing       Code = "missing"       // a required field is absent
	Type          Code = "wrong_type"    // not the JSON type that is accepted
	Format        Code = "wrong_format"  // text of another form than is accepted
	Range         Code = "out_of_range"  // outside the hard limits
	Choice        Code = "not_a_choice"  // not one of the accepted values
	Duplicate     Code = "duplicate"     // the same key twice
	Size          Code = "too_large"     // more input than is accepted
	Syntax        Code = "not_json"      // not well-formed JSON
	Contradiction Code = "contradiction" // values that no body can have together
	Undraftable   Code = "undraftable"   // the block cannot be drafted to these values
	Implausible   Code = "implausible"   // a number that does not go with the others; ask
	Script        Code = "script"        // a style's script is at fault
)

// Fault is one thing wrong with an input.
type Fault struct {
	Code     Code     `json:"code"`
	Field    string   `json:"field"`              // RFC 6901 JSON pointer into the input, "" for the whole
	Value    string   `json:"value,omitempty"`    // as given, shortened
	Accepted string   `json:"accepted,omitempty"` // what would be accepted, or why not
	Related  []string `json:"related,omitempty"`  // of a contradiction: pointers to the other fields involved

	// Explanation names the mistake that would explain an implausible number.
	Explanation string `json:"explanation,omitempty"`
	Line        int    `json:"line,omitempty"` // of a script
}

// Error is the fault in one line: field, value, what is accepted.
func (f Fault) Error() string {
	parts := make([]string, 0, 3)
	if f.Field == "" {
		parts = append(parts, "input")
	} else {
		parts = append(parts, f.Field)
	}
	if f.Value != "" {
		parts = append(parts, f.Value)
	}
	if f.Accepted != "" {
		parts = append(parts, f.Accepted)
	}
	return strings.Join(parts, ": ")
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

var pointerEscape = strings.NewReplacer("~", "~0", "/", "~1")

// Pointer is the RFC 6901 JSON pointer through the keys given, from the top.
func Pointer(keys ...string) string {
	var b strings.Builder
	for _, k := range keys {
		b.WriteByte('/')
		pointerEscape.WriteString(&b, k)
	}
	return b.String()
}

// Shorten quotes a value for showing in a fault: at most 40 runes, quotes and
// control characters escaped.
func Shorten(v string) string {
	n := 0
	for i := range v {
		if n++; n == 40 && utf8.RuneCountInString(v[i:min(len(v), i+2*utf8.UTFMax)]) > 1 {
			return fmt.Sprintf("%q", v[:i]+"…")
		}
	}
	return fmt.Sprintf("%q", v)
}
