package orders

import (
	"slices"

	"tapeline/service"
)

// Status is the state of an order.
type Status string

const (
	Received  Status = "received"  // waiting to be drafted
	Held      Status = "held"      // a person must look at it
	Ready     Status = "ready"     // its pattern can be fetched
	Failed    Status = "failed"    // a fault of the program
	Cancelled Status = "cancelled" // for good
)

// Reason says why an order is held, has failed or was cancelled.
type Reason string

const (
	ByRequest   Reason = "by_request"
	Undraftable Reason = "undraftable"
	Implausible Reason = "implausible"
	CheckFailed Reason = "check_failed"
	StyleFailed Reason = "style_failed"
	TooCostly   Reason = "too_costly"
	PoorFit     Reason = "poor_fit"
	Internal    Reason = "internal"
	Erased      Reason = "customer_erased"
)

// Detail says the reason in a sentence.
func (r Reason) Detail() string {
	switch r {
	case ByRequest:
		return "by request, see the order's history"
	case Undraftable:
		return "the block cannot be drafted to these measurements"
	case Implausible:
		return "some measurements do not go together: confirm the order, or confirm it with another measurement set"
	case CheckFailed:
		return "the draft did not measure back as it should"
	case StyleFailed:
		return "the style's script fails on these measurements and choices"
	case TooCostly:
		return "the draft takes more processor time or memory than an order may: correct the style's script, then " +
			"revise the order with the new revision"
	case PoorFit:
		return "its fitting found what a cutter would alter: revise the order, or confirm it as it is"
	case Internal:
		return "drafting failed on our side; revise the order to try again"
	case Erased:
		return "the customer's data was erased"
	}
	return ""
}

// Action is a change that a person makes to an order.
type Action string

const (
	Hold    Action = "held"
	Confirm Action = "confirmed"
	Revise  Action = "revised"
)

// actionable lists the states in which an order takes an action.
var actionable = map[Action][]Status{
	Hold:    {Received, Ready},
	Confirm: {Held},
	Revise:  {Ready, Held, Failed},
}

// Allow refuses an action on an order in that state with CodeWrongState.
func (s Status) Allow(a Action) error {
	if slices.Contains(actionable[a], s) {
		return nil
	}
	return service.Refuse(service.CodeWrongState, "an order that is %s cannot be %s", s, a)
}

// Stands reports whether the order's draft stays current when the order is
// confirmed: only a request or its fitting holds it, and neither spec nor measurements
// changed since it was made.
func Stands(revision int, reason Reason, unchanged bool) bool {
	return revision > 0 && (reason == ByRequest || reason == PoorFit) && unchanged
}

// Progress is how far a garment is made.
type Progress string

const (
	Uncut   Progress = "uncut"
	Cut     Progress = "cut"
	Shipped Progress = "shipped"
)

// Become refuses with CodeWrongState what an order's progress cannot become. It
// advances only while the order is ready, and goes back one step in any state:
// that takes back a mistake.
func (p Progress) Become(next Progress, s Status) error {
	type step struct{ from, to Progress }
	switch (step{p, next}) {
	case step{Cut, Uncut}, step{Shipped, Cut}:
		return nil
	case step{Uncut, Cut}, step{Uncut, Shipped}, step{Cut, Shipped}:
		if s != Ready {
			return service.Refuse(service.CodeWrongState, "an order that is %s cannot be %s", s, next)
		}
		return nil
	}
	return service.Refuse(service.CodeWrongState, "an order that is %s cannot become %s", p, next)
}
