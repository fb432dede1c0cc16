package orders

import (
	"bytes"
	"context"
	"errors"
	"time"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
)

// Receive makes an order of a verified message, once for each message ID: a
// message that comes again gets the same order. It fails with
// CodeMessageIDReused if the ID came with another order.
func (s *Service) Receive(
	ctx context.Context, caller service.Caller, messageID string, n NewOrder,
) (received Order, err error) {
	request := fingerprint("inbound order", n)
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		// The same lock as an idempotency key's; the record of the message is kept longer.
		claimed, _, err := tx.ClaimKey(ctx, caller.Shop, "inbound "+messageID)
		if err != nil {
			return err
		}
		if !claimed {
			return &service.Error{Code: service.CodeIdempotencyInFlight, RetryAfter: time.Second}
		}
		former, err := tx.InboundMessage(ctx, query.InboundMessageParams{ShopID: caller.Shop, MessageID: messageID})
		switch {
		case err == nil && !bytes.Equal(former.BodyHash, request):
			return service.Refuse(service.CodeMessageIDReused, "this webhook-id came with another order before")
		case err == nil:
			row, err := tx.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: former.OrderID})
			if err != nil {
				return err
			}
			received, err = Decode(row)
			return err
		case !errors.Is(err, db.ErrNotFound):
			return err
		}
		if received, err = s.accept(ctx, tx, caller, n, Inbound); err != nil {
			return err
		}
		return tx.InsertInboundMessage(ctx, query.InsertInboundMessageParams{ShopID: caller.Shop, MessageID: messageID,
			BodyHash: request, OrderID: received.ID, ReceivedAt: received.CreatedAt})
	})
	return received, err
}
