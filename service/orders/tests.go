package orders

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/service/webhooks"
)

// How the references of test orders begin whose first draft is to be held or to fail.
const (
	forceHeld   = "TEST-HELD"
	forceFailed = "TEST-FAILED"
)

// forced returns the record of a test order whose reference asks for a state in place
// of its first draft, and nil for any other order. What is requested after that is
// drafted as usual.
func (s *Service) forced(in db.DraftInput, b Basis) *query.SettleDraftParams {
	if !b.Test || in.DraftRequest > 1 {
		return nil
	}
	switch {
	case strings.HasPrefix(in.Reference, forceHeld):
		return s.undrafted(in, &UndraftedError{Reason: Implausible, Faults: fault.List{b.pretendedDoubt()}})
	case strings.HasPrefix(in.Reference, forceFailed):
		failed := Order{Status: Failed, Reason: Internal, Revision: in.Revision}
		return s.settlement(in, failed, "failed", webhooks.OrderFailed, 0, s.Clock.Now())
	}
	return nil
}

// pretendedDoubt questions the first of the measurements, by name.
func (b Basis) pretendedDoubt() fault.Fault {
	name := slices.Sorted(maps.Keys(b.Measurements))[0] // every garment needs one at least
	return fault.Fault{Code: fault.Implausible, Field: fault.Pointer("measurements", name), Explanation: "slip",
		Value:    strconv.FormatFloat(b.Measurements[name], 'g', -1, 64),
		Accepted: "a test: the order's reference begins with " + forceHeld + "; is the number right?"}
}

// isTest reports whether an order was made with a test key.
func isTest(in db.DraftInput) bool {
	var spec struct{ Test bool }
	return json.Unmarshal(in.Spec, &spec) == nil && spec.Test
}
