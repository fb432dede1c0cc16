package legacy

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
)

// redraft is an order's draft as a change would have it.
type redraft struct {
	order   Order      // as changed
	kept    *uuid.UUID // the alterations that it is made with
	same    bool       // nothing that the draft is made from changes: there is no other pattern
	pattern finish.Pattern
}

// notRedrafted says why an order is given no other draft.
type notRedrafted struct {
	finding string
	reason  string
	faults  fault.List
}

func (n *notRedrafted) Error() string { return n.finding + ": " + n.reason }

func leftAlone(reason string) *notRedrafted {
	return &notRedrafted{finding: findingLeftAlone, reason: reason}
}

// untouched tells why a refit leaves an order as it is; nil where it doesn't.
// What is cut or shipped is drafted anew only where it was named.
func untouched(status string, reason *string, making string, named bool) *notRedrafted {
	switch Status(status) {
	case StatusReady:
	case StatusHeld:
		if reason == nil || *reason != reasonByRequest {
			return leftAlone(leftState)
		}
	default:
		return leftAlone(leftState)
	}
	switch {
	case named:
		return nil
	case making == "cut":
		return leftAlone(leftCut)
	case making == "shipped":
		return leftAlone(leftShipped)
	}
	return nil
}

// redraft drafts an order as the change has it, lettered as a revision. Its
// error is a *notRedrafted but for what the database or a shutdown caused.
func (s *Service) redraft(ctx context.Context, r refitting, in db.RefitInput, revision int) (d redraft, err error) {
	defer func() {
		if v := recover(); v != nil {
			s.log.LogAttrs(ctx, slog.LevelError, "panic", slog.String("order_id", in.ID.String()),
				slog.String("type", fmt.Sprintf("%T", v)), slog.String("stack", string(debug.Stack())))
			err = &notRedrafted{finding: findingFailed, reason: reasonInternal}
		}
	}()
	before, err := order(in.Order)
	if err != nil {
		return redraft{}, err
	}
	after, input := r.apply(before, in.DraftInput)
	d.order, d.kept = after, input.KeptID
	if r.Engine == nil && after.MeasurementSetID == before.MeasurementSetID && sameID(input.KeptID, in.KeptID) &&
		bytes.Equal(encode(after.Spec), encode(before.Spec)) {
		d.same = true
		return d, nil
	}
	c, err := s.commissioned(ctx, input, after)
	c.label.revision = revision
	if err == nil {
		start := time.Now()
		d.pattern, err = s.guardedDraft(ctx, after, c)
		s.measure.drafted(time.Since(start), err)
	}
	if after.MeasurementSetID != before.MeasurementSetID {
		ask, askErr := s.doubts(ctx, input, after, c.measured)
		if askErr != nil {
			return redraft{}, askErr
		}
		err = undraftedBy(err, ask)
	}
	if u, ok := errors.AsType[*undrafted](err); ok {
		n := &notRedrafted{finding: findingUndraftable, reason: u.reason, faults: u.faults}
		if u.reason == reasonImplausible {
			n.finding = findingHeld
		}
		return redraft{}, n
	}
	if err != nil && (ctx.Err() != nil || db.Unavailable(err)) {
		return redraft{}, err
	}
	if err != nil {
		s.log.Error("draft failed", "order_id", in.ID, "error", err)
		return redraft{}, &notRedrafted{finding: findingFailed, reason: reasonInternal}
	}
	return d, nil
}

func sameID(a, b *uuid.UUID) bool { return a == b || a != nil && b != nil && *a == *b }

// preview says what a change would do to an order.
func (s *Service) preview(ctx context.Context, r refitting, paper string, named bool, in db.RefitInput) (db.RefitFinding, error) {
	f := db.RefitFinding{OrderID: in.ID, Finding: findingChanges, BasisRequest: &in.DraftRequest}
	if in.Revision > 0 {
		f.BasisRevision = &in.Revision
	}
	c, err := s.compared(ctx, r, paper, named, in)
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		f.Finding, f.ReasonCode = n.finding, &n.reason
		if n.faults != nil {
			f.Faults = encode(n.faults)
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
	f.Comparison, f.Largest = encode(c), &c.Largest
	return f, nil
}

// compared drafts an order as the change has it and compares that with the
// draft that it has; nil says that it would be the same.
func (s *Service) compared(ctx context.Context, r refitting, paper string, named bool, in db.RefitInput) (*Comparison, error) {
	if n := untouched(in.Status, in.ReasonCode, in.Making, named); n != nil {
		return nil, n
	}
	switch {
	case in.Given == nil:
		return nil, leftAlone(leftErased)
	case in.Geometry == nil:
		return nil, leftAlone(leftNoDraft)
	case in.Status == string(StatusHeld) && (in.SetBefore == nil || *in.SetBefore != in.MeasurementSetID || !bytes.Equal(in.SpecThen, in.Spec)):
		return nil, leftAlone(leftNoDraft) // of the order as it is now
	}
	// Step by step: who wants the processor for a moment waits for one of them.
	var d redraft
	err := s.onIdleCore(ctx, func() (err error) {
		d, err = s.redraft(ctx, r, in, in.Revision)
		return err
	})
	if err != nil || d.same {
		return nil, err
	}
	c, err := s.comparison(ctx, in, d.pattern, paper)
	if err != nil && ctx.Err() == nil {
		s.log.Error("comparison failed", "order_id", in.ID, "error", err)
		err = &notRedrafted{finding: findingFailed, reason: reasonInternal}
	}
	if err != nil || c == nil {
		return nil, err
	}
	if in.Engine != nil && *in.Engine != s.cfg.Version {
		c.Engine = &EngineStep{Was: *in.Engine, Now: s.cfg.Version}
	}
	return c, nil
}

// changedSince tells why what the preview found of an order holds no more; nil
// where it does.
func changedSince(in db.RefitInput, now db.LockedOrder, refit uuid.UUID, named bool) *notRedrafted {
	basis := in.Refit
	if basis.BasisRevision == nil || basis.BasisRequest == nil || *basis.BasisRevision != now.Revision || *basis.BasisRequest != now.DraftRequest {
		if now.LastRefit != nil && *now.LastRefit != refit {
			return leftAlone(leftOtherRefit)
		}
		return leftAlone(leftChanged)
	}
	return untouched(now.Status, now.ReasonCode, now.Making, named)
}
