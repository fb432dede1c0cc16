package legacy

import (
	"encoding/json"
	"errors"
	"fmt"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/service/customers"
)

// keptIn are those that a draft is to be made with. What this version of the
// program doesn't take, though a former did, is a *undrafted.
func keptIn(in db.DraftInput) (drafting.Alterations, error) {
	if in.KeptID == nil {
		return drafting.Alterations{}, nil
	}
	a := customers.Alterations{Unit: *in.KeptUnit}
	if err := json.Unmarshal(in.Kept, &a.Values); err != nil {
		return drafting.Alterations{}, fmt.Errorf("stored alterations %s: %w", *in.KeptID, err)
	}
	read, err := a.Draftable()
	if e, ok := errors.AsType[*Error](err); ok {
		return drafting.Alterations{}, &undrafted{reasonUndraftable, e.Faults}
	}
	return read, err
}
