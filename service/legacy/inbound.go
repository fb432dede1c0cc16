package legacy

import (
	"bytes"
	"context"
	"errors"
	"time"

	"tapeline/db"
)

// ReceiveOrder makes an order of a verified message, once for each message id:
// a message that comes again gets the same order. It fails with
// CodeMessageIDReused when the id came with another body.
func (s *Service) ReceiveOrder(ctx context.Context, caller Caller, messageID string, n NewOrder) (received Order, err error) {
	print := fingerprint("inbound order", n)
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		// The same lock as an idempotency key's; the note of the message is kept longer.
		claimed, _, err := tx.ClaimKey(ctx, caller.Shop, "inbound "+messageID)
		if err != nil {
			return err
		}
		if !claimed {
			return &Error{Code: CodeIdempotencyInFlight, RetryAfter: time.Second}
		}
		former, err := tx.InboundMessage(ctx, caller.Shop, messageID)
		switch {
		case err == nil && !bytes.Equal(former.BodyHash, print):
			return refuse(CodeMessageIDReused, "this webhook-id came with another order before")
		case err == nil:
			row, err := tx.Order(ctx, caller.Shop, former.OrderID)
			if err != nil {
				return err
			}
			received, err = order(row)
			return err
		case !errors.Is(err, db.ErrNotFound):
			return err
		}
		p, err := s.prepare(ctx, tx, caller, n, sourceInbound)
		if err != nil {
			return err
		}
		if received, err = s.place(ctx, tx, p); err != nil {
			return err
		}
		return tx.InsertInboundMessage(ctx, db.InboundMessage{ShopID: caller.Shop, MessageID: messageID, BodyHash: print,
			OrderID: received.ID, ReceivedAt: received.CreatedAt})
	})
	return received, err
}
