package app

import (
	"context"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/styles"
)

// garments implements customers.Styles.
type garments struct {
	store  *db.Store
	styles *styles.Service
}

// Needs returns the measurements that a garment requires and uses.
func (g garments) Needs(
	ctx context.Context, caller service.Caller, garment customers.Garment,
) (customers.Needs, error) {
	var spec block.Spec
	if garment.Block != "" {
		found, faults := drafting.FindBlock("/block", garment.Block)
		if len(faults) > 0 {
			return customers.Needs{}, service.Invalid(faults)
		}
		spec = found
	} else {
		ref := styles.Ref{Slug: garment.Style, Revision: garment.StyleRevision}
		resolved, err := g.styles.Resolve(ctx, g.store.Queries, caller.Shop, ref)
		if err != nil {
			return customers.Needs{}, err
		}
		spec = resolved.Garment.Spec()
	}
	return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, nil
}
