package legacy

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"tapeline/db/query"
	"tapeline/service/customers"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
)

// overlaid draws what moved from one pattern to another, as svg or pdf.
func (s *Service) overlaid(ctx context.Context, was, now finish.Pattern, format string) (File, error) {
	f := File{MediaType: "image/svg+xml"}
	write := render.OverlaySVG
	if format == "pdf" {
		f.MediaType, write = "application/pdf", render.OverlayPDF
	}
	var out bytes.Buffer
	err := s.onCore(ctx, func() error { return write(&out, was, now) })
	if err != nil {
		return File{}, fmt.Errorf("draw what moved: %w", err)
	}
	f.Content = out.Bytes()
	return f, nil
}

// Overlay draws what moved between two drafts of an order.
func (s *Service) Overlay(ctx context.Context, caller Caller, id uuid.UUID, was, now int, format string) (File, error) {
	before, err := s.revisionPattern(ctx, caller, id, was)
	if err != nil {
		return File{}, err
	}
	after, err := s.revisionPattern(ctx, caller, id, now)
	if err != nil {
		return File{}, err
	}
	return s.overlaid(ctx, before, after, format)
}

func (s *Service) revisionPattern(ctx context.Context, caller Caller, id uuid.UUID, revision int) (finish.Pattern, error) {
	head, err := s.patternHead(ctx, caller, id, revision)
	if err != nil {
		return finish.Pattern{}, err
	}
	return s.pattern(ctx, head.DraftHead)
}

// RefitOverlay draws what a refit moves in an order: from the draft that the
// preview compared with to the one that the order was given, or would be. It
// fails with CodeWrongState where the preview compared nothing.
func (s *Service) RefitOverlay(ctx context.Context, caller Caller, id, orderID uuid.UUID, format string) (File, error) {
	row, err := s.store.Refit(ctx, caller.Shop, id)
	if err != nil {
		return File{}, orNotFound(err, "refit")
	}
	in, err := s.store.RefitInput(ctx, id, orderID)
	if err != nil {
		return File{}, orNotFound(err, "order in this refit")
	}
	o, err := s.RefitOrder(ctx, caller, id, orderID)
	switch {
	case err != nil:
		return File{}, err
	case o.ErasedAt != nil || in.Given == nil:
		return File{}, customers.Erased()
	case o.Finding != findingChanges && o.Finding != findingUnchanged || o.BasisRevision == nil:
		return File{}, refuse(CodeWrongState, "nothing was compared: the order is %s", o.Finding)
	case o.Revision != nil:
		return s.Overlay(ctx, caller, orderID, *o.BasisRevision, *o.Revision, format)
	}
	head, err := s.patternHead(ctx, caller, orderID, *o.BasisRevision)
	if err != nil {
		return File{}, err
	}
	was, err := s.pattern(ctx, head.DraftHead)
	if err != nil {
		return File{}, err
	}
	now, err := s.wouldBe(ctx, caller, row, in, head.DraftHead)
	if err != nil {
		return File{}, err
	}
	return s.overlaid(ctx, was, now, format)
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
	set, err := customers.SetOf(ctx, s.store.Queries, caller, in.CustomerID, head.MeasurementSetID)
	if err != nil {
		return finish.Pattern{}, err
	}
	in.Spec, in.MeasurementSetID, in.HasHash = head.Spec, head.MeasurementSetID, head.Hash
	in.Unit, in.Given = set.Unit, encode(set.Values)
	if err := s.drawnWith(ctx, &in.DraftInput, head.AlterationsID); err != nil {
		return finish.Pattern{}, err
	}
	var d redraft
	err = s.onCore(ctx, func() (err error) {
		d, err = s.redraft(ctx, change, in, head.Number+1)
		return err
	})
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		return finish.Pattern{}, refuse(CodeWrongState, "the order would now be %s", n.finding)
	}
	if err == nil && d.same {
		return s.pattern(ctx, head)
	}
	return d.pattern, err
}

// drawnWith puts alterations in an input: those that a draft was made with.
func (s *Service) drawnWith(ctx context.Context, in *db.DraftInput, id *uuid.UUID) error {
	in.KeptID, in.KeptUnit, in.Kept = nil, nil, nil
	if id == nil {
		return nil
	}
	row, err := s.store.AlterationSet(ctx, query.AlterationSetParams{ShopID: in.ShopID, ID: *id})
	if err == nil {
		in.KeptID, in.KeptUnit, in.Kept = &row.ID, &row.Unit, row.Given
	}
	return err
}
