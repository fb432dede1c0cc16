package fittings

import (
	"context"
	"errors"
	"slices"
	"strings"

	"tapeline/drafting/drape"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// ReasonOf says for a person why a draft was not tried on, and reports whether that is a
// defect of the program.
func ReasonOf(err error) (reason string, ours bool) {
	if reason = reasonOf(err); reason == "" {
		return "trying it on failed on our side", true
	}
	return reason, false
}

func reasonOf(err error) string {
	if faults, ok := errors.AsType[fault.List](err); ok {
		return words(faults)
	}
	if e, ok := errors.AsType[*service.Error](err); ok {
		return e.Detail
	}
	if e := service.TooCostly(err); e != nil {
		return e.Detail
	}
	switch {
	case errors.Is(err, drape.ErrLost):
		return "the cloth does not stay on the body"
	case errors.Is(err, context.DeadlineExceeded):
		return "it did not end within the time that a fitting may take; try again when less is to be done"
	}
	return ""
}

// words says what keeps a draft from being tried on.
func words(faults fault.List) string {
	var reasons, missing []string
	for _, f := range faults {
		switch {
		case f.Code == fault.Missing:
			missing = append(missing, strings.TrimPrefix(f.Field, "/measurements/"))
		case !slices.Contains(reasons, f.Accepted):
			reasons = append(reasons, f.Accepted)
		}
	}
	if len(missing) > 0 {
		reasons = append(reasons, "a form of the body also needs "+strings.Join(missing, ", "))
	}
	const most = 300 // characters; the column takes a thousand
	text := []rune(strings.Join(reasons, "; "))
	return string(text[:min(len(text), most)])
}
