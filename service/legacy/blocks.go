package legacy

import (
	"context"
	"encoding/json"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/service/customers"
)

// Needs implements customers.Styles.
func (s *Service) Needs(ctx context.Context, caller Caller, g customers.Garment) (customers.Needs, error) {
	if g.Block != "" {
		spec, err := findBlock(g.Block)
		return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, err
	}
	ordered := Spec{Style: g.Style, StyleRevision: g.StyleRevision}
	_, garment, err := s.resolveStyle(ctx, s.store.Queries, caller, ordered)
	if err != nil {
		return customers.Needs{}, err
	}
	spec := garment.Spec()
	return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, nil
}

// findBlock returns the block that a request names.
func findBlock(name string) (block.Spec, error) {
	spec, faults := drafting.FindBlock("/block", name)
	if len(faults) > 0 {
		return spec, invalid(faults)
	}
	return spec, nil
}

func encode(v any) json.RawMessage { return db.JSON(v) }
