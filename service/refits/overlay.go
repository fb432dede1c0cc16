package refits

import (
	"context"
	"errors"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/finish"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/orders"
	"tapeline/service/patterns"
)

// Overlay draws what a refit moves in an order: from the draft that the preview
// compared with to the one that the order was given, or would be given. It fails
// with CodeWrongState if the preview compared nothing.
func (s *Service) Overlay(
	ctx context.Context, caller service.Caller, id, orderID uuid.UUID, format string,
) (patterns.File, error) {
	row, err := s.store.Refit(ctx, query.RefitParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return patterns.File{}, service.OrNotFound(err, "refit")
	}
	in, err := s.store.RefitInput(ctx, id, orderID)
	if err != nil {
		return patterns.File{}, service.OrNotFound(err, "order in this refit")
	}
	o, err := s.Order(ctx, caller, id, orderID)
	switch {
	case err != nil:
		return patterns.File{}, err
	case o.ErasedAt != nil:
		return patterns.File{}, customers.Erased()
	case o.Preview != findingChanges && o.Preview != findingUnchanged || o.Basis == nil:
		return patterns.File{}, service.Refuse(service.CodeWrongState, "nothing was compared: the order is %s", o.Preview)
	case o.Revision != nil:
		return s.Patterns.Overlay(ctx, caller, orderID, *o.Basis, *o.Revision, format)
	}
	head, err := s.Patterns.Head(ctx, caller, orderID, *o.Basis)
	if err != nil {
		return patterns.File{}, err
	}
	was, err := s.Patterns.Pattern(ctx, head)
	if err != nil {
		return patterns.File{}, err
	}
	now, err := s.draftFrom(ctx, caller, row, in, head)
	if err != nil {
		return patterns.File{}, err
	}
	return s.Patterns.DrawChange(ctx, caller.Shop, was, now, format)
}

// draftFrom drafts an order as a refit changes it, from what a draft of it was
// made from.
func (s *Service) draftFrom(
	ctx context.Context, caller service.Caller, row db.Refit, in db.RefitInput, head db.DraftHead,
) (finish.Pattern, error) {
	change, in, basis, err := s.from(ctx, caller, row, in, head)
	if err != nil {
		return finish.Pattern{}, err
	}
	d, err := s.redraft(ctx, change, in, basis, head.Number+1)
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		return finish.Pattern{}, service.Refuse(service.CodeWrongState, "the order would now be %s", n.finding)
	}
	if err == nil && d.same {
		return s.Patterns.Pattern(ctx, head)
	}
	return d.record.Pattern, err
}

// from returns the change of a refit, and what a draft of an order was made from.
func (s *Service) from(
	ctx context.Context, caller service.Caller, row db.Refit, in db.RefitInput, head db.DraftHead,
) (change target, was db.RefitInput, basis orders.Basis, err error) {
	r, err := decode(row)
	if err != nil {
		return change, in, basis, err
	}
	if change, err = s.target(ctx, s.store.Queries, caller, r.Change); err != nil {
		return change, in, basis, err
	}
	basis, err = s.Orders.BasisOf(ctx, caller, head)
	in.Spec, in.MeasurementSetID = head.Spec, head.MeasurementSetID
	in.BasisAlterations, in.Hash = head.AlterationsID, head.Hash
	return change, in, basis, err
}
