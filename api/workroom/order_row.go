package workroom

import (
	"fmt"
	"strings"
	"time"

	"tapeline/service/orders"
)

// orderRow is an order in a list.
type orderRow struct {
	orders.Order
	Today time.Time // the shop's day
}

// Garment says what is ordered: the style or block and the fit.
func (o orderRow) Garment() string {
	in := o.Spec.Input()
	name := in.Style
	if name == "" {
		name = in.Block
	}
	name = sentence(words(strings.ReplaceAll(name, "-", " ")))
	name = strings.TrimSuffix(name, ".")
	if in.Fit != "" {
		name += ", " + words(in.Fit) + " fit"
	}
	return name
}

// State says in a word how far the order is.
func (o orderRow) State() string {
	switch {
	case o.Status == orders.Ready && o.Progress != orders.Uncut:
		return string(o.Progress)
	case o.Status == orders.Received:
		return "being drafted"
	}
	return string(o.Status)
}

// StateClass is the state's class in the style sheet.
func (o orderRow) StateClass() string { return "is-" + string(o.Status) }

// Why says shortly why an order is held, has failed or was cancelled.
func (o orderRow) Why() string {
	switch {
	case o.Reason == orders.Implausible && len(o.Faults) == 1:
		return "1 question"
	case o.Reason == orders.Implausible:
		return fmt.Sprintf("%d questions", len(o.Faults))
	}
	return words(o.Reason)
}

// Late reports whether the order should have been shipped.
func (o orderRow) Late() bool { return o.LateOn(o.Today) }

// Due says when the order is due, and how late it is; "" if it has no due date.
func (o orderRow) Due() string {
	if o.DueDate.IsZero() {
		return ""
	}
	text := o.DueDate.Format("2 Jan")
	if o.DueDate.Year() != o.Today.Year() {
		text = o.DueDate.Format("2 Jan 2006")
	}
	days := int(o.Today.Sub(o.DueDate).Hours() / 24)
	switch {
	case !o.Late() && days == 0:
		return text + ", today"
	case !o.Late() && days == -1:
		return text + ", tomorrow"
	case !o.Late():
		return text
	case days == 1:
		return text + ", a day late"
	}
	return fmt.Sprintf("%s, %d days late", text, days)
}
