package block

import (
	"context"
	"fmt"

	"tapeline/drafting/pattern"
)

var torsos = map[string]torsoKind{
	"torso": shapedTorso, "straight": straightTorso, "knit_torso": knitTorso, "jacket": jacketTorso,
}

// Draft drafts the block with the name and reads its measures back. Cancelling
// ctx ends it within a few milliseconds with the context's error. Other errors
// are a fault.List if the block can't be drafted to the body, and a *CheckError
// if the draft does not measure what it should, a defect of the program.
func Draft(ctx context.Context, name string, r Request) (pattern.Pattern, error) {
	if err := ctx.Err(); err != nil {
		return pattern.Pattern{}, err
	}
	if kind, ok := torsos[name]; ok {
		return draftTorso(ctx, r, kind)
	}
	switch name {
	case "skirt":
		return draftSkirt(r)
	case "circle_skirt":
		return draftCircleSkirt(r)
	case "trousers":
		return draftTrousers(ctx, r)
	case "knit_leg":
		return draftLeggings(ctx, r)
	}
	return pattern.Pattern{}, fmt.Errorf("unknown block %q", name)
}

// DraftHalves drafts the right and the left half of a block that has sides, each
// to its own alterations, for a garment built on them.
func DraftHalves(ctx context.Context, name string, r Request) (right, left pattern.Pattern, err error) {
	if err := ctx.Err(); err != nil {
		return right, left, err
	}
	if kind, ok := torsos[name]; ok {
		return draftHalves(ctx, r, kind)
	}
	switch name {
	case "trousers":
		return draftLegs(ctx, r, draftLeg)
	case "knit_leg":
		return draftLegs(ctx, r, draftLeggingsLeg)
	}
	return right, left, fmt.Errorf("block %q has no sides", name)
}
