package webhooks

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// Inbound says how a shop's platform sends orders in.
type Inbound struct {
	URL                 string
	Enabled             bool
	PreviousSecretUntil *time.Time // until when the former secret is valid too; nil: it is not
}

func (s *Service) inbound(shop uuid.UUID) Inbound {
	return Inbound{URL: s.publicURL + "/v1/inbound/orders?shop=" + shop.String()}
}

// Inbound returns whether and where the shop's messages are taken.
func (s *Service) Inbound(ctx context.Context, caller service.Caller) (Inbound, error) {
	in := s.inbound(caller.Shop)
	secrets, err := s.store.InboundSecrets(ctx, caller.Shop)
	if errors.Is(err, db.ErrNotFound) {
		return in, nil
	}
	in.Enabled, in.PreviousSecretUntil = true, unlessPast(secrets.PreviousUntil, s.clock.Now())
	return in, err
}

// RotateInboundSecret makes the shop's secret for inbound messages, or a new
// one beside which the former is valid for the overlap.
func (s *Service) RotateInboundSecret(
	ctx context.Context, caller service.Caller, overlap time.Duration,
) (Inbound, string, error) {
	secret, now := NewSecret(), s.clock.Now()
	in := s.inbound(caller.Shop)
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		secrets, err := tx.RotateInboundSecret(ctx, query.RotateInboundSecretParams{ID: caller.Shop, Secret: []byte(secret),
			PreviousUntil: now.Add(overlap)})
		if err != nil {
			return err
		}
		in.Enabled, in.PreviousSecretUntil = true, unlessPast(secrets.PreviousUntil, now)
		return access.Record(ctx, tx, caller, access.Action{Name: "inbound.secret_rotated", Subject: caller.Shop, At: now})
	})
	return in, secret, err
}

// RemoveInboundSecret stops the taking of inbound messages.
func (s *Service) RemoveInboundSecret(ctx context.Context, caller service.Caller) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.RemoveInboundSecrets(ctx, caller.Shop); err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "inbound.secret_removed", Subject: caller.Shop,
			At: s.clock.Now()})
	})
}

// VerifyInbound checks that a message was signed with the shop's secret a short
// time ago, and returns the Caller that it speaks for. It fails with
// CodeSignatureInvalid and does not say why: not even whether there is such a
// shop.
func (s *Service) VerifyInbound(
	ctx context.Context, shop uuid.UUID, header http.Header, body []byte,
) (service.Caller, error) {
	secrets, err := s.store.InboundSecrets(ctx, shop)
	if err != nil && !errors.Is(err, db.ErrNotFound) {
		return service.Caller{}, err
	}
	now := s.clock.Now()
	if err != nil || Verify(secrets.Valid(now), header, body, now) != nil {
		return service.Caller{}, service.Refuse(service.CodeSignatureInvalid,
			"the message was not signed with the shop's inbound secret in the last five minutes")
	}
	return service.Caller{Shop: shop, Role: service.RoleShop}, nil
}
