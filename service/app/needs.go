package app

import (
	"context"
	"slices"
	"strings"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/styles"
)

// garments implements customers.Styles.
type garments struct {
	store  *db.Store
	styles *styles.Service
}

// Needs returns the measurements that a garment with its choices requires and uses.
func (g garments) Needs(
	ctx context.Context, caller service.Caller, garment customers.Garment,
) (customers.Needs, error) {
	in := drafting.OrderInput{Unit: garment.Unit, Block: garment.Block, Style: garment.Style,
		Choices: garment.Choices}
	var own []*style.Style
	if garment.Style != "" {
		ref := styles.Ref{Slug: garment.Style, Revision: garment.StyleRevision}
		resolved, err := g.styles.Resolve(ctx, g.store.Queries, caller, ref)
		if err != nil {
			return customers.Needs{}, err
		}
		own = append(own, resolved.Garment)
	}
	order, faults := drafting.NewOrder(in, own...)
	faults = slices.DeleteFunc(faults, func(f fault.Fault) bool { return strings.HasPrefix(f.Field, "/measurements") })
	if len(faults) > 0 {
		return customers.Needs{}, service.Invalid(faults)
	}
	spec, _ := order.Spec()
	requires, uses := order.Needs(spec)
	return customers.Needs{Requires: requires, Uses: uses}, nil
}
