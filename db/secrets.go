package db

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// Secrets are those of an endpoint or of a shop's inbound messages. Two are
// valid at once while a rotation lasts.
type Secrets struct {
	Current       string
	Previous      *string
	PreviousUntil *time.Time
}

// Valid returns the secrets that are valid at a time, the current one first.
func (s Secrets) Valid(at time.Time) []string {
	valid := []string{s.Current}
	if s.Previous != nil && s.PreviousUntil != nil && at.Before(*s.PreviousUntil) {
		valid = append(valid, *s.Previous)
	}
	return valid
}

func (q Queries) openSecrets(current, previous []byte, until *time.Time, owner string) (Secrets, error) {
	opened, err := q.sealer.open(current, owner)
	if err != nil {
		return Secrets{}, err
	}
	former, err := q.sealer.openText(previous, owner)
	return Secrets{Current: string(opened), Previous: former, PreviousUntil: until}, err
}

func endpointOwner(id uuid.UUID) string { return "webhook_endpoints.secret " + id.String() }

// InsertEndpoint stores an endpoint and seals its secret.
func (q Queries) InsertEndpoint(ctx context.Context, e query.InsertEndpointParams) error {
	e.Secret = q.sealer.seal(e.Secret, endpointOwner(e.ID))
	return q.Queries.InsertEndpoint(ctx, e)
}

// RotateEndpointSecret makes a secret the current one, sealed. The former is
// valid until a time, the one before that no longer.
func (q Queries) RotateEndpointSecret(
	ctx context.Context, r query.RotateEndpointSecretParams,
) (query.WebhookEndpoint, error) {
	r.Secret = q.sealer.seal(r.Secret, endpointOwner(r.ID))
	return q.Queries.RotateEndpointSecret(ctx, r)
}

// ClaimedMessage is a message with what is needed to send it.
type ClaimedMessage struct {
	query.ClaimMessagesRow
	Secrets Secrets
}

// ClaimMessages claims due messages. It leaves out, and names in its error,
// endpoints whose secrets it cannot open.
func (q Queries) ClaimMessages(ctx context.Context, claim query.ClaimMessagesParams) ([]ClaimedMessage, error) {
	rows, err := q.Queries.ClaimMessages(ctx, claim)
	claimed := make([]ClaimedMessage, 0, len(rows))
	for _, row := range rows {
		secrets, unreadable := q.openSecrets(row.Secret, row.Previous, row.PreviousUntil, endpointOwner(row.EndpointID))
		if unreadable != nil {
			err = errors.Join(err, unreadable)
			continue
		}
		claimed = append(claimed, ClaimedMessage{row, secrets})
	}
	return claimed, err
}

// ListenerMessage is a message that a listener has claimed, with the secrets that sign
// it.
type ListenerMessage struct {
	query.ClaimForListenerRow
	Secrets Secrets
}

// ClaimForListener claims a listener's due messages.
func (q Queries) ClaimForListener(
	ctx context.Context, claim query.ClaimForListenerParams,
) ([]ListenerMessage, error) {
	rows, err := q.Queries.ClaimForListener(ctx, claim)
	if err != nil {
		return nil, err
	}
	claimed := make([]ListenerMessage, len(rows))
	for i, row := range rows {
		secrets, err := q.openSecrets(row.Secret, row.Previous, row.PreviousUntil, endpointOwner(row.EndpointID))
		if err != nil {
			return nil, err
		}
		claimed[i] = ListenerMessage{row, secrets}
	}
	return claimed, nil
}

func inboundOwner(shop uuid.UUID) string { return "shops.inbound_secret " + shop.String() }

// InboundSecrets returns the secrets of a shop's inbound messages. It returns
// ErrNotFound if the shop takes none.
func (q Queries) InboundSecrets(ctx context.Context, shop uuid.UUID) (Secrets, error) {
	row, err := q.Queries.InboundSecrets(ctx, shop)
	if err != nil {
		return Secrets{}, err
	}
	return q.openSecrets(row.InboundSecret, row.InboundPrevious, row.InboundPreviousUntil, inboundOwner(shop))
}

// RotateInboundSecret makes a secret the current one, sealed, and returns both.
func (q Queries) RotateInboundSecret(ctx context.Context, r query.RotateInboundSecretParams) (Secrets, error) {
	r.Secret = q.sealer.seal(r.Secret, inboundOwner(r.ID))
	row, err := q.Queries.RotateInboundSecret(ctx, r)
	if err != nil {
		return Secrets{}, err
	}
	return q.openSecrets(row.InboundSecret, row.InboundPrevious, row.InboundPreviousUntil, inboundOwner(r.ID))
}
