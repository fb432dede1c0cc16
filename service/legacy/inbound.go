package legacy

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service/webhook"
)

// Inbound is how a shop's platform sends orders in.
type Inbound struct {
	URL                 string
	Enabled             bool
	PreviousSecretUntil *time.Time
}

// Inbound reads whether and where the shop's messages are taken.
func (s *Service) Inbound(ctx context.Context, caller Caller) (Inbound, error) {
	in := Inbound{URL: s.cfg.PublicURL + "/v1/inbound/orders?shop=" + caller.Shop.String()}
	secrets, err := s.store.InboundSecrets(ctx, caller.Shop)
	if errors.Is(err, db.ErrNotFound) {
		return in, nil
	}
	in.Enabled, in.PreviousSecretUntil = true, stillValid(secrets, s.now())
	return in, err
}

// RotateInboundSecret makes the shop's secret for inbound messages, or a new
// one beside which the former holds for the overlap.
func (s *Service) RotateInboundSecret(ctx context.Context, caller Caller, overlap time.Duration) (Inbound, string, error) {
	secret := webhook.NewSecret()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.RotateInboundSecret(ctx, caller.Shop, secret, s.now().Add(overlap)); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "inbound.secret_rotated", caller.Shop, nil)
	})
	if err != nil {
		return Inbound{}, "", err
	}
	in, err := s.Inbound(ctx, caller)
	return in, secret, err
}

// RemoveInboundSecret ends the taking of inbound messages.
func (s *Service) RemoveInboundSecret(ctx context.Context, caller Caller) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.RemoveInboundSecrets(ctx, caller.Shop); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "inbound.secret_removed", caller.Shop, nil)
	})
}

// VerifyInbound checks that a message was signed with the shop's secret a
// short while ago, and gives the Caller that it speaks for. It fails with
// CodeSignatureInvalid and does not say why: not even whether there is such a
// shop.
func (s *Service) VerifyInbound(ctx context.Context, shop uuid.UUID, header http.Header, body []byte) (Caller, error) {
	secrets, err := s.store.InboundSecrets(ctx, shop)
	if err != nil && !errors.Is(err, db.ErrNotFound) {
		return Caller{}, err
	}
	now := s.now()
	if err != nil || webhook.Verify(secrets.Valid(now), header, body, now) != nil {
		return Caller{}, refuse(CodeSignatureInvalid, "the message was not signed with the shop's inbound secret in the last five minutes")
	}
	return Caller{Shop: shop, Role: RoleShop}, nil
}

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
