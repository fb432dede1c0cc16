package drafting

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tapeline/drafting/fault"
)

// Label tells one customer's pattern from another's. It changes nothing of how
// pieces are drafted.
type Label struct {
	Reference string `json:"reference"`          // the shop's, lettered on every piece
	Customer  string `json:"customer,omitempty"` // the shop's reference for the customer
	Date      string `json:"date,omitempty"`     // ISO 8601 calendar date
	Revision  int    `json:"revision,omitempty"` // from 1
}

const (
	maxReference = 64   // characters: two lines of a label
	maxRevision  = 9999 // four digits on the label
)

// Check lists everything that is wrong with the label.
func (l Label) Check() fault.List {
	faults := checkText("reference", l.Reference, true)
	faults = append(faults, checkText("customer", l.Customer, false)...)
	if _, err := time.Parse(time.DateOnly, l.Date); l.Date != "" && err != nil {
		faults = append(faults, fault.Fault{Code: fault.Format, Field: "/date", Value: fault.Shorten(l.Date),
			Accepted: "a calendar date as 2026-01-31 (ISO 8601)"})
	}
	if l.Revision < 1 || l.Revision > maxRevision {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/revision", Value: strconv.Itoa(l.Revision),
			Accepted: "a whole number from 1 to " + strconv.Itoa(maxRevision)})
	}
	return faults
}

func checkText(name, v string, required bool) fault.List {
	f := fault.Fault{Code: fault.Format, Field: fault.Pointer(name), Value: fault.Shorten(v)}
	switch {
	case v == "" && !required:
		return nil
	case v == "":
		f.Code, f.Value, f.Accepted = fault.Missing, "", "required: the shop's reference, lettered on every piece"
	case utf8.RuneCountInString(v) > maxReference:
		f.Accepted = "at most " + strconv.Itoa(maxReference) + " characters"
	case strings.TrimSpace(v) == "":
		f.Accepted = "more than spaces"
	case strings.ContainsFunc(v, func(r rune) bool { return !unicode.IsPrint(r) || r == utf8.RuneError }):
		f.Accepted = "characters that can be printed, on one line"
	default:
		return nil
	}
	return fault.List{f}
}
