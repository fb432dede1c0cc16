package legacy

import (
	"context"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/service/customers"
	"tapeline/service/styles"
)

// Needs implements customers.Styles.
func (s *Service) Needs(ctx context.Context, caller Caller, g customers.Garment) (customers.Needs, error) {
	if g.Block != "" {
		spec, err := findBlock(g.Block)
		return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, err
	}
	resolved, err := s.cfg.Styles.Resolve(ctx, s.store.Queries, caller.Shop, styles.Ref{Slug: g.Style, Revision: g.StyleRevision})
	if err != nil {
		return customers.Needs{}, err
	}
	spec := resolved.Garment.Spec()
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
