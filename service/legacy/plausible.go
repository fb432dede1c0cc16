package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/service/customers"
)

// alsoRefused adds to what is wrong with an order, if anything is, the numbers
// in it that are refused for not going with the others; they may explain the
// rest. A stored set that somebody confirmed is not refused.
func alsoRefused(ctx context.Context, q db.Queries, shop, set uuid.UUID, wrong error, a customers.Assessment) error {
	refused := a.Doubts(customers.Refuse)
	if e, ok := errors.AsType[*Error](wrong); ok && len(e.Faults) > 0 {
		return invalid(append(e.Faults, refused...))
	}
	if wrong != nil || len(refused) == 0 {
		return wrong
	}
	if set != uuid.Nil {
		if confirmed, err := q.SetConfirmed(ctx, query.SetConfirmedParams{ShopID: shop, ID: set}); err != nil || confirmed {
			return err
		}
	}
	return invalid(refused)
}

// Confirmed is a number that somebody said is right, and the mistake that it
// had been taken for.
type Confirmed struct {
	Field       string `json:"field"`
	Explanation string `json:"explanation"`
}

// confirmedOf are the numbers in doubt among an order's faults; nil for none.
func confirmedOf(faults json.RawMessage) (json.RawMessage, error) {
	if faults == nil {
		return nil, nil
	}
	var all fault.List
	if err := json.Unmarshal(faults, &all); err != nil {
		return nil, fmt.Errorf("stored faults: %w", err)
	}
	var doubted []Confirmed
	for _, f := range all {
		if f.Code == fault.Implausible {
			doubted = append(doubted, Confirmed{f.Field, f.Explanation})
		}
	}
	if doubted == nil {
		return nil, nil
	}
	return encode(doubted), nil
}
