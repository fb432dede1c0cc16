package webhooks

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// Endpoint is where a shop wants its messages sent.
type Endpoint struct {
	ID                  uuid.UUID
	URL                 string
	Description         string
	Events              []EventType // that it is subscribed to
	DisabledAt          *time.Time
	DisabledReason      *string    // set when DisabledAt is
	FailingSince        *time.Time // the first of the attempts that failed in a row; nil: the latest did not fail
	PausedUntil         *time.Time // no attempt is made before; nil: it is not paused
	PreviousSecretUntil *time.Time // until when the former secret signs too; nil: it does not
	CreatedAt           time.Time
	UpdatedAt           time.Time
}

// Enabled reports whether messages are sent to the endpoint.
func (e Endpoint) Enabled() bool { return e.DisabledAt == nil }

// Reasons why an endpoint is disabled.
const (
	disabledByRequest = "by_request"
	disabledGone      = "gone" // it answered 410
)

// maxEndpoints limits the endpoints of a shop: each is one more message for
// every event.
const maxEndpoints = 10

func toEndpoint(row query.WebhookEndpoint, now time.Time) Endpoint {
	e := Endpoint{ID: row.ID, URL: row.URL, Description: row.Description, DisabledAt: row.DisabledAt,
		DisabledReason: row.DisabledReason, FailingSince: row.FailingSince, PausedUntil: unlessPast(row.PausedUntil, now),
		CreatedAt: row.CreatedAt, UpdatedAt: row.UpdatedAt, PreviousSecretUntil: unlessPast(row.PreviousUntil, now)}
	for _, t := range row.Events {
		e.Events = append(e.Events, EventType(t))
	}
	return e
}

// unlessPast returns a time that is still to come, and nil otherwise.
func unlessPast(at *time.Time, now time.Time) *time.Time {
	if at == nil || !now.Before(*at) {
		return nil
	}
	return at
}

func toStrings(types []EventType) []string {
	s := make([]string, len(types))
	for i, t := range types {
		s[i] = string(t)
	}
	return s
}

// NewEndpoint describes an endpoint to register.
type NewEndpoint struct {
	URL         string
	Events      []EventType // nil: all
	Description string
}

// CreateEndpoint registers an endpoint and returns its signing secret: the only
// time that it can be read. It fails with CodeWebhookAddressRefused for an
// address to which no message may be sent.
func (s *Service) CreateEndpoint(ctx context.Context, caller service.Caller, n NewEndpoint) (Endpoint, string, error) {
	if err := s.checkURL(ctx, n.URL); err != nil {
		return Endpoint{}, "", err
	}
	if n.Events == nil {
		n.Events = EventTypes()
	}
	now, secret := s.clock.Now(), NewSecret()
	id := s.clock.NewID()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockShop(ctx, caller.Shop); err != nil {
			return err
		}
		endpoints, err := tx.Endpoints(ctx, caller.Shop)
		if err != nil {
			return err
		}
		if len(endpoints) >= maxEndpoints {
			return service.Refuse(service.CodeLimitReached, "a shop has at most %d webhook endpoints", maxEndpoints)
		}
		err = tx.InsertEndpoint(ctx, query.InsertEndpointParams{ID: id, ShopID: caller.Shop, URL: n.URL,
			Description: n.Description, Events: toStrings(n.Events), Secret: []byte(secret), At: now})
		if err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_endpoint.created", Subject: id, At: now})
	})
	return Endpoint{ID: id, URL: n.URL, Description: n.Description, Events: n.Events, CreatedAt: now,
		UpdatedAt: now}, secret, err
}

func (s *Service) checkURL(ctx context.Context, url string) error {
	if err := s.client.CheckURL(ctx, url); err != nil {
		return service.Refuse(service.CodeWebhookAddressRefused, "%s", err)
	}
	return nil
}

// Endpoint returns an endpoint.
func (s *Service) Endpoint(ctx context.Context, caller service.Caller, id uuid.UUID) (Endpoint, error) {
	row, err := s.store.Endpoint(ctx, query.EndpointParams{ShopID: caller.Shop, ID: id})
	return toEndpoint(row, s.clock.Now()), service.OrNotFound(err, "webhook endpoint")
}

// Endpoints lists the shop's endpoints, newest first.
func (s *Service) Endpoints(ctx context.Context, caller service.Caller) ([]Endpoint, error) {
	rows, err := s.store.Endpoints(ctx, caller.Shop)
	endpoints := make([]Endpoint, len(rows))
	for i, row := range rows {
		endpoints[i] = toEndpoint(row, s.clock.Now())
	}
	return endpoints, err
}

// EndpointChanges says what to change of an endpoint; a zero field stays.
type EndpointChanges struct {
	URL         string
	Events      []EventType
	Description string
	Enabled     *bool
}

// UpdateEndpoint changes, disables or enables an endpoint. Messages for one that
// is disabled wait until it is enabled, for a week at most.
func (s *Service) UpdateEndpoint(
	ctx context.Context, caller service.Caller, id uuid.UUID, changes EndpointChanges,
) (Endpoint, error) {
	if changes.URL != "" {
		if err := s.checkURL(ctx, changes.URL); err != nil {
			return Endpoint{}, err
		}
	}
	now := s.clock.Now()
	var row query.WebhookEndpoint
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		if row, err = tx.EndpointForUpdate(ctx, query.EndpointForUpdateParams{ShopID: caller.Shop, ID: id}); err != nil {
			return service.OrNotFound(err, "webhook endpoint")
		}
		changes.apply(&row, now)
		err = tx.UpdateEndpoint(ctx, query.UpdateEndpointParams{ShopID: row.ShopID, ID: row.ID, URL: row.URL,
			Description: row.Description,
			Events:      row.Events, DisabledAt: row.DisabledAt, DisabledReason: row.DisabledReason, UpdatedAt: row.UpdatedAt})
		if err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_endpoint.changed", Subject: id, At: now})
	})
	return toEndpoint(row, now), err
}

func (c EndpointChanges) apply(row *query.WebhookEndpoint, now time.Time) {
	if c.URL != "" {
		row.URL = c.URL
	}
	if c.Events != nil {
		row.Events = toStrings(c.Events)
	}
	if c.Description != "" {
		row.Description = c.Description
	}
	switch {
	case c.Enabled == nil:
	case *c.Enabled:
		row.DisabledAt, row.DisabledReason = nil, nil
	case row.DisabledAt == nil:
		row.DisabledAt, row.DisabledReason = &now, new(disabledByRequest)
	}
	row.Failures, row.FailingSince, row.PausedUntil = 0, nil, nil // it gets another chance
	row.UpdatedAt = now
}

// DeleteEndpoint takes an endpoint out of use and gives up its messages.
func (s *Service) DeleteEndpoint(ctx context.Context, caller service.Caller, id uuid.UUID) error {
	now := s.clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.DeleteEndpoint(ctx, query.DeleteEndpointParams{ShopID: caller.Shop, ID: id, At: now}); err != nil {
			return service.OrNotFound(err, "webhook endpoint")
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_endpoint.deleted", Subject: id, At: now})
	})
}

// RotateEndpointSecret gives an endpoint a new secret. The former signs beside
// it for the overlap.
func (s *Service) RotateEndpointSecret(
	ctx context.Context, caller service.Caller, id uuid.UUID, overlap time.Duration,
) (Endpoint, string, error) {
	secret, now := NewSecret(), s.clock.Now()
	var row query.WebhookEndpoint
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		row, err = tx.RotateEndpointSecret(ctx, query.RotateEndpointSecretParams{ShopID: caller.Shop, ID: id,
			Secret:        []byte(secret),
			PreviousUntil: now.Add(overlap), At: now})
		if err != nil {
			return service.OrNotFound(err, "webhook endpoint")
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_endpoint.secret_rotated", Subject: id, At: now})
	})
	return toEndpoint(row, now), secret, err
}

// TestEndpoint sends a test message to an endpoint.
func (s *Service) TestEndpoint(ctx context.Context, caller service.Caller, id uuid.UUID) (Message, error) {
	var row query.WebhookMessage
	now := s.clock.Now()
	event := Event{Type: EndpointTest, Timestamp: now, Data: EventData{EndpointID: &id}}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		e, err := tx.Endpoint(ctx, query.EndpointParams{ShopID: caller.Shop, ID: id})
		if err != nil {
			return service.OrNotFound(err, "webhook endpoint")
		}
		if e.DisabledAt != nil {
			return service.Refuse(service.CodeWrongState, "the endpoint is disabled")
		}
		row, err = tx.QueueMessageTo(ctx, query.QueueMessageToParams{ShopID: caller.Shop, EndpointID: id,
			Type: string(EndpointTest), Body: event.Body(), At: now})
		return service.OrNotFound(err, "webhook endpoint")
	})
	if err != nil {
		return Message{}, err
	}
	return toMessage(row)
}
