package orders

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/service"
	"tapeline/service/webhooks"
)

// A StoredDraft is a draft as it was stored, with the order that it was drafted from.
type StoredDraft struct {
	Order   drafting.Order
	Pattern finish.Pattern
	Engine  string // version of the program that drafted it
}

// SidesDiffer reports whether the alterations of the draft differ from left to right.
func (d StoredDraft) SidesDiffer() bool {
	return len(d.Order.Alterations.Left)+len(d.Order.Alterations.Right) > 0
}

// OfDraft returns a draft of an order; revision 0 is the one that is handed out. It fails
// with the faults if this release doesn't accept the order, and otherwise as
// patterns.Head does.
func (s *Service) OfDraft(
	ctx context.Context, caller service.Caller, id uuid.UUID, revision int,
) (d StoredDraft, err error) {
	head, err := s.Patterns.Head(ctx, caller, id, revision)
	if err != nil {
		return d, err
	}
	basis, err := s.BasisOf(ctx, caller, head)
	if err != nil {
		return d, err
	}
	row, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return d, service.OrNotFound(err, "order")
	}
	in := db.DraftInput{DraftInput: query.DraftInput{ID: id, Reference: row.Reference}}
	if d.Order, err = s.Compose(ctx, in, basis, head.Number); err != nil {
		return d, noLongerDraftable(err)
	}
	d.Engine = head.Engine
	d.Pattern, err = s.Patterns.Pattern(ctx, head)
	return d, err
}

// Fitted records in the transaction that stores a fitting of an order that it was
// tried on, and tells the shop's endpoints. If its draft fits so poorly that the order
// is to be held, words say what a cutter would alter. It is held if that draft is
// still the one handed out, and is not cut. row is the order, locked.
func (s *Service) Fitted(
	ctx context.Context, tx *db.Tx, row query.ShopOrder, fitting uuid.UUID, revision int, words []string,
	at time.Time,
) error {
	o, err := Decode(row)
	if err != nil {
		return err
	}
	if len(words) > 0 && o.Status == Ready && o.Revision == revision && o.Progress == Uncut {
		c := newChange(row)
		c.become(Held, PoorFit)
		faults := make(fault.List, len(words))
		for i, w := range words {
			faults[i] = fault.Fault{Code: fault.Code(PoorFit), Accepted: w}
		}
		c.row.Faults = db.JSON(faults)
		c.event, c.notify = "held", webhooks.OrderHeld
		if o, err = s.write(ctx, tx, service.Caller{Shop: row.ShopID}, c, at); err != nil {
			return err
		}
	}
	m := s.message(row.ShopID, webhooks.FittingReady, o, at, webhooks.EventData{FittingID: &fitting})
	return tx.QueueMessages(ctx, *m)
}
