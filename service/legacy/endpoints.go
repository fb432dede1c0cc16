package legacy

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service/webhook"
)

// Endpoint is where a shop wants its messages sent.
type Endpoint struct {
	db.Endpoint
	PreviousSecretUntil *time.Time // until when the secret before the last rotation signs too
}

// Enabled tells whether messages are sent to it.
func (e Endpoint) Enabled() bool { return e.DisabledAt == nil }

// Why an endpoint is disabled.
const (
	disabledByRequest = "by_request"
	disabledGone      = "gone" // it answered 410
)

// mostEndpoints is how many a shop may have: each is one more message for
// every event.
const mostEndpoints = 10

// NewEndpoint is an endpoint to be registered.
type NewEndpoint struct {
	URL         string
	Events      []string // nil: all
	Description string
}

// CreateEndpoint registers an endpoint and gives its signing secret, this
// once. It fails with CodeWebhookAddressRefused for an address that may not be
// delivered to.
func (s *Service) CreateEndpoint(ctx context.Context, caller Caller, n NewEndpoint) (Endpoint, string, error) {
	if err := s.checkAddress(ctx, n.URL); err != nil {
		return Endpoint{}, "", err
	}
	if n.Events == nil {
		n.Events = EventTypes()
	}
	now := s.now()
	e := db.Endpoint{ID: s.newID(), ShopID: caller.Shop, URL: n.URL, Description: n.Description, Events: n.Events, CreatedAt: now, UpdatedAt: now}
	secret := webhook.NewSecret()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		there, err := tx.Endpoints(ctx, caller.Shop)
		if err != nil {
			return err
		}
		if len(there) >= mostEndpoints {
			return refuse(CodeLimitReached, "a shop has at most %d webhook endpoints", mostEndpoints)
		}
		if err := tx.InsertEndpoint(ctx, e, secret); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "webhook_endpoint.created", e.ID, nil)
	})
	return Endpoint{Endpoint: e}, secret, err
}

func (s *Service) checkAddress(ctx context.Context, url string) error {
	if err := s.hooks.CheckURL(ctx, url); err != nil {
		return refuse(CodeWebhookAddressRefused, "%s", err)
	}
	return nil
}

// Endpoint reads an endpoint.
func (s *Service) Endpoint(ctx context.Context, caller Caller, id uuid.UUID) (Endpoint, error) {
	e, err := s.store.Endpoint(ctx, caller.Shop, id)
	if err != nil {
		return Endpoint{}, orNotFound(err, "webhook endpoint")
	}
	return s.withRotation(ctx, e)
}

func (s *Service) withRotation(ctx context.Context, e db.Endpoint) (Endpoint, error) {
	secrets, err := s.store.EndpointSecrets(ctx, e.ShopID, e.ID)
	if err != nil {
		return Endpoint{}, orNotFound(err, "webhook endpoint")
	}
	return Endpoint{e, stillValid(secrets, s.now())}, nil
}

// stillValid is until when a former secret holds, nil when it does not.
func stillValid(secrets db.Secrets, now time.Time) *time.Time {
	if len(secrets.Valid(now)) < 2 {
		return nil
	}
	return secrets.PreviousUntil
}

// Endpoints lists the shop's endpoints.
func (s *Service) Endpoints(ctx context.Context, caller Caller) ([]Endpoint, error) {
	rows, err := s.store.Endpoints(ctx, caller.Shop)
	if err != nil {
		return nil, err
	}
	endpoints := make([]Endpoint, len(rows))
	for i, row := range rows {
		if endpoints[i], err = s.withRotation(ctx, row); err != nil {
			return nil, err
		}
	}
	return endpoints, nil
}

// EndpointChanges is what to change of an endpoint; what is zero stays.
type EndpointChanges struct {
	URL         string
	Events      []string
	Description string
	Enabled     *bool
}

// UpdateEndpoint changes, pauses or resumes an endpoint.
func (s *Service) UpdateEndpoint(ctx context.Context, caller Caller, id uuid.UUID, change EndpointChanges) (Endpoint, error) {
	if change.URL != "" {
		if err := s.checkAddress(ctx, change.URL); err != nil {
			return Endpoint{}, err
		}
	}
	var e db.Endpoint
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		if e, err = tx.Endpoint(ctx, caller.Shop, id); err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		change.apply(&e, s.now())
		if err := tx.UpdateEndpoint(ctx, e); err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		return audit(ctx, tx, caller, s.now(), "webhook_endpoint.changed", id, nil)
	})
	if err != nil {
		return Endpoint{}, err
	}
	return s.withRotation(ctx, e)
}

func (c EndpointChanges) apply(e *db.Endpoint, now time.Time) {
	if c.URL != "" {
		e.URL = c.URL
	}
	if c.Events != nil {
		e.Events = c.Events
	}
	if c.Description != "" {
		e.Description = c.Description
	}
	switch {
	case c.Enabled == nil:
	case *c.Enabled:
		e.DisabledAt, e.DisabledReason = nil, nil
	case e.DisabledAt == nil:
		e.DisabledAt, e.DisabledReason = &now, optional(disabledByRequest)
	}
	e.UpdatedAt = now
}

// DeleteEndpoint takes an endpoint out of use.
func (s *Service) DeleteEndpoint(ctx context.Context, caller Caller, id uuid.UUID) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.DeleteEndpoint(ctx, caller.Shop, id, s.now()); err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		return audit(ctx, tx, caller, s.now(), "webhook_endpoint.deleted", id, nil)
	})
}

// RotateEndpointSecret gives an endpoint a new secret; the former signs beside
// it for the overlap.
func (s *Service) RotateEndpointSecret(ctx context.Context, caller Caller, id uuid.UUID, overlap time.Duration) (Endpoint, string, error) {
	secret, now := webhook.NewSecret(), s.now()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.RotateEndpointSecret(ctx, caller.Shop, id, secret, now.Add(overlap), now); err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		return audit(ctx, tx, caller, s.now(), "webhook_endpoint.secret_rotated", id, nil)
	})
	if err != nil {
		return Endpoint{}, "", err
	}
	e, err := s.Endpoint(ctx, caller, id)
	return e, secret, err
}

// TestEndpoint sends a test message to an endpoint.
func (s *Service) TestEndpoint(ctx context.Context, caller Caller, id uuid.UUID) (sent Message, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		e, err := tx.Endpoint(ctx, caller.Shop, id)
		if err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		if e.DisabledAt != nil {
			return refuse(CodeWrongState, "the endpoint is disabled")
		}
		now := s.now()
		sent, err = tx.AddMessageTo(ctx, id, db.NewMessage{ShopID: caller.Shop, Type: string(eventTest),
			Body: eventTest.body(eventData{EndpointID: &id}, now), At: now})
		if err != nil {
			return orNotFound(err, "webhook endpoint")
		}
		return s.enqueue(ctx, tx, jobList{deliverJob(sent.ID)})
	})
	return sent, err
}
