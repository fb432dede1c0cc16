package orders

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/webhooks"
)

// OfDraft returns the order that a draft was made from, to be drafted again as it
// was. revision 0 is the current one. It fails with CodeWrongState if this version of
// the program no longer takes it, and otherwise as patterns.Head does.
func (s *Service) OfDraft(
	ctx context.Context, caller service.Caller, id uuid.UUID, revision int,
) (drafting.Order, error) {
	head, err := s.Patterns.Head(ctx, caller, id, revision)
	if err != nil {
		return drafting.Order{}, err
	}
	basis, err := s.BasisOf(ctx, caller, head)
	if err != nil {
		return drafting.Order{}, err
	}
	row, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return drafting.Order{}, service.OrNotFound(err, "order")
	}
	in := db.DraftInput{DraftInput: query.DraftInput{ID: id, Reference: row.Reference}}
	o, err := s.Compose(ctx, in, basis, head.Number)
	if err != nil {
		return drafting.Order{}, noLongerDraftable(err)
	}
	return o, nil
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
