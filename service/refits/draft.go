package refits

import (
	"bytes"
	"context"
	"errors"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// redraft is an order's draft as a change would have it.
type redraft struct {
	input  db.DraftInput // as changed
	spec   orders.Spec   // as changed
	same   bool          // nothing that the draft is made from changes: there is no record
	record patterns.Record
}

// notRedrafted says why an order is given no other draft.
type notRedrafted struct {
	finding string
	reason  orders.Reason
	faults  fault.List
}

func (n *notRedrafted) Error() string { return n.finding + ": " + string(n.reason) }

func leftAlone(reason orders.Reason) *notRedrafted {
	return &notRedrafted{finding: findingLeftAlone, reason: reason}
}

// leave says why a refit leaves an order alone; nil if it doesn't. What is cut
// or shipped is drafted again only if it was named.
func leave(status orders.Status, reason *string, progress orders.Progress, named bool) *notRedrafted {
	byRequest := reason != nil && orders.Reason(*reason) == orders.ByRequest
	switch {
	case status != orders.Ready && !(status == orders.Held && byRequest):
		return leftAlone(leftState)
	case named:
		return nil
	case progress == orders.Cut:
		return leftAlone(leftCut)
	case progress == orders.Shipped:
		return leftAlone(leftShipped)
	}
	return nil
}

// changed is an order as a change has it.
type changed struct {
	basis orders.Basis
	input db.DraftInput
	same  bool           // nothing that the draft is made from changes: there is no order
	order drafting.Order // lettered as a revision
}

// changed returns an order as the change has it. Its error is an
// *orders.UndraftedError unless the database caused it.
func (s *Service) changed(
	ctx context.Context, r target, in db.RefitInput, before orders.Basis, revision int,
) (c changed, err error) {
	after, input := r.apply(before, in.DraftInput)
	c.basis, c.input = after, input
	if r.Engine == nil && input.MeasurementSetID == in.MeasurementSetID &&
		sameID(input.BasisAlterations, in.BasisAlterations) &&
		bytes.Equal(db.JSON(after.Spec), db.JSON(before.Spec)) {
		c.same = true
		return c, nil
	}
	c.order, err = s.Orders.Compose(ctx, input, after, revision)
	return c, err
}

// redraft drafts an order as the change has it, lettered as a revision. Its
// error is a *notRedrafted unless the database or a shutdown caused it.
func (s *Service) redraft(
	ctx context.Context, r target, in db.RefitInput, before orders.Basis, revision int,
) (d redraft, err error) {
	c, err := s.changed(ctx, r, in, before, revision)
	d.input, d.spec, d.same = c.input, c.basis.Spec, c.same
	if c.same {
		return d, nil
	}
	var doubts fault.List
	if c.input.MeasurementSetID != in.MeasurementSetID {
		found, failed := s.Orders.Doubts(ctx, in.ShopID, c.input.MeasurementSetID, c.basis.Measured())
		if failed != nil {
			return d, failed
		}
		doubts = found
	}
	if err == nil {
		d.record, err = s.Orders.DraftOn(ctx, work.Bulk, in.ShopID, c.order)
	}
	err = orders.HeldBy(err, doubts)
	if u, ok := errors.AsType[*orders.UndraftedError](err); ok {
		n := &notRedrafted{finding: findingUndraftable, reason: u.Reason, faults: u.Faults}
		if u.Reason == orders.Implausible {
			n.finding = findingHeld
		}
		return redraft{}, n
	}
	if err != nil && (ctx.Err() != nil || db.Unavailable(err)) {
		return redraft{}, err
	}
	if err != nil {
		s.Log.Error("draft failed", "order_id", in.ID, "error", err)
		return redraft{}, &notRedrafted{finding: findingFailed, reason: orders.Internal}
	}
	return d, nil
}

func sameID(a, b *uuid.UUID) bool { return a == b || a != nil && b != nil && *a == *b }

// preview finds what a change would do to an order.
func (s *Service) preview(
	ctx context.Context, r target, paper string, named bool, in db.RefitInput,
) (db.RefitFinding, error) {
	f := db.RefitFinding{OrderID: in.ID, Finding: findingChanges, BasisRequest: &in.DraftRequest}
	if in.Revision > 0 {
		f.BasisRevision = &in.Revision
	}
	c, err := s.compare(ctx, r, paper, named, in)
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		f.Finding, f.ReasonCode = n.finding, (*string)(&n.reason)
		if n.faults != nil {
			f.Faults = db.JSON(n.faults)
		}
		return f, nil
	}
	if err != nil {
		return f, err
	}
	if c == nil {
		f.Finding, f.Largest = findingUnchanged, new(float64)
		return f, nil
	}
	f.Comparison, f.Largest = db.JSON(c), &c.Largest
	return f, nil
}

// compare drafts an order as the change has it and compares that with its present
// draft. It returns nil if they are the same.
func (s *Service) compare(
	ctx context.Context, r target, paper string, named bool, in db.RefitInput,
) (*Comparison, error) {
	if n := leave(orders.Status(in.Status), in.ReasonCode, orders.Progress(in.Progress), named); n != nil {
		return nil, n
	}
	basis, err := orders.DecodeBasis(in.DraftInput)
	sinceDraft := in.DraftedSet == nil || *in.DraftedSet != in.MeasurementSetID || !bytes.Equal(in.DraftedSpec, in.Spec)
	switch {
	case err != nil:
		return nil, err
	case basis.Measurements == nil:
		return nil, leftAlone(leftErased)
	case in.Document == nil:
		return nil, leftAlone(leftNoDraft)
	case orders.Status(in.Status) == orders.Held && sinceDraft:
		return nil, leftAlone(leftNoDraft) // of the order as it is now
	}
	d, err := s.redraft(ctx, r, in, basis, in.Revision)
	if err != nil || d.same {
		return nil, err
	}
	c, err := s.comparison(ctx, in, d.record, paper)
	if e := service.TooCostly(err); e != nil {
		return nil, &notRedrafted{finding: findingUndraftable, reason: orders.TooCostly,
			faults: fault.List{{Code: fault.Costly, Accepted: "comparing the drafts: " + e.Detail}}}
	}
	if err != nil && ctx.Err() == nil {
		s.Log.Error("comparison failed", "order_id", in.ID, "error", err)
		err = &notRedrafted{finding: findingFailed, reason: orders.Internal}
	}
	if err != nil || c == nil {
		return nil, err
	}
	if in.Engine != nil && *in.Engine != s.Version {
		c.Engine = &EngineStep{Was: *in.Engine, Now: s.Version}
	}
	return c, nil
}

// changedSince says why the preview of an order is stale, nil if it isn't.
func changedSince(in db.RefitInput, now db.LockedOrder, refit uuid.UUID, named bool) *notRedrafted {
	if in.BasisRevision == nil || in.BasisRequest == nil || *in.BasisRevision != now.Revision ||
		*in.BasisRequest != now.DraftRequest {
		if now.LastRefit != nil && *now.LastRefit != refit {
			return leftAlone(leftOtherRefit)
		}
		return leftAlone(leftChanged)
	}
	return leave(orders.Status(now.Status), now.ReasonCode, orders.Progress(now.Progress), named)
}
