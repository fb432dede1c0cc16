package block

import (
	"context"
	"fmt"

	"tapeline/drafting/pattern"
)

// Draft drafts the block of that name and reads its measures back. It takes a
// few milliseconds, so it checks ctx once. The error is a fault.List if the
// block cannot be drafted to the body, and a *CheckError if the draft does not
// measure what it should, which is a defect of the program.
func Draft(ctx context.Context, name string, r Request) (pattern.Pattern, error) {
	if err := ctx.Err(); err != nil {
		return pattern.Pattern{}, err
	}
	switch name {
	case "torso":
		return draftTorso(r, true)
	case "straight":
		return draftTorso(r, false)
	case "skirt":
		return draftSkirt(r)
	case "circle_skirt":
		return draftCircleSkirt(r)
	case "trousers":
		return draftTrousers(r)
	}
	return pattern.Pattern{}, fmt.Errorf("unknown block %q", name)
}

// DraftHalves drafts the right and the left half of a block that has sides, each
// to its own alterations, for a garment built on them.
func DraftHalves(ctx context.Context, name string, r Request) (right, left pattern.Pattern, err error) {
	if err := ctx.Err(); err != nil {
		return right, left, err
	}
	switch name {
	case "torso", "straight":
		right, left, _, err = draftHalves(r, name == "torso")
		return right, left, err
	case "trousers":
		return trousersHalves(r)
	}
	return right, left, fmt.Errorf("block %q has no sides", name)
}
