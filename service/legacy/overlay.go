package legacy

import (
	"context"
	"errors"

	"tapeline/service/customers"
	"tapeline/service/patterns"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/finish"
)

// RefitOverlay draws what a refit moves in an order: from the draft that the
// preview compared with to the one that the order was given, or would be. It
// fails with CodeWrongState where the preview compared nothing.
func (s *Service) RefitOverlay(ctx context.Context, caller Caller, id, orderID uuid.UUID, format string) (patterns.File, error) {
	row, err := s.store.Refit(ctx, caller.Shop, id)
	if err != nil {
		return patterns.File{}, orNotFound(err, "refit")
	}
	in, err := s.store.RefitInput(ctx, id, orderID)
	if err != nil {
		return patterns.File{}, orNotFound(err, "order in this refit")
	}
	o, err := s.RefitOrder(ctx, caller, id, orderID)
	switch {
	case err != nil:
		return patterns.File{}, err
	case o.ErasedAt != nil:
		return patterns.File{}, customers.Erased()
	case o.Finding != findingChanges && o.Finding != findingUnchanged || o.BasisRevision == nil:
		return patterns.File{}, refuse(CodeWrongState, "nothing was compared: the order is %s", o.Finding)
	case o.Revision != nil:
		return s.Patterns.Overlay(ctx, caller, orderID, *o.BasisRevision, *o.Revision, format)
	}
	head, err := s.Patterns.Head(ctx, caller, orderID, *o.BasisRevision)
	if err != nil {
		return patterns.File{}, err
	}
	was, err := s.Patterns.Pattern(ctx, head)
	if err != nil {
		return patterns.File{}, err
	}
	now, err := s.wouldBe(ctx, caller, row, in, head)
	if err != nil {
		return patterns.File{}, err
	}
	return s.Patterns.DrawChange(ctx, caller.Shop, was, now, format)
}

// wouldBe drafts an order as a refit has it, from what its draft was made from.
func (s *Service) wouldBe(ctx context.Context, caller Caller, row db.Refit, in db.RefitInput, head db.DraftHead) (finish.Pattern, error) {
	r, err := refit(row)
	if err != nil {
		return finish.Pattern{}, err
	}
	change, err := s.refitting(ctx, s.store.Queries, caller, r.Change)
	if err != nil {
		return finish.Pattern{}, err
	}
	basis, err := s.Orders.BasisOf(ctx, caller, head)
	if err != nil {
		return finish.Pattern{}, err
	}
	in.Spec, in.MeasurementSetID, in.KeptID, in.HasHash = head.Spec, head.MeasurementSetID, head.AlterationsID, head.Hash
	d, err := s.redraft(ctx, change, in, basis, head.Number+1)
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		return finish.Pattern{}, refuse(CodeWrongState, "the order would now be %s", n.finding)
	}
	if err == nil && d.same {
		return s.Patterns.Pattern(ctx, head)
	}
	return d.record.Pattern, err
}
