package webhooks

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// Config says how a Service runs.
type Config struct {
	Store     *db.Store
	Clock     service.Clock
	Log       *slog.Logger
	Registry  prometheus.Registerer
	PublicURL string // of the API as its callers see it, without a slash at the end
	Workers   int    // deliveries at once

	// AllowPrivate allows endpoints at private addresses and without TLS. For
	// development only.
	AllowPrivate bool

	// Recovered logs and counts a panic of an attempt, and returns it as an error.
	Recovered func(ctx context.Context, v any) error
}

// Service has the use cases of webhooks: endpoints, messages and their
// delivery, and the signatures of inbound messages.
type Service struct {
	store     *db.Store
	clock     service.Clock
	log       *slog.Logger
	publicURL string
	client    *Client
	attempts  *prometheus.CounterVec
	recovered func(context.Context, any) error

	dispatcher dispatcher
	abandon    context.CancelFunc // ends the attempts under way
}

// New returns the use cases of webhooks. Messages are delivered between Start
// and Stop.
func New(cfg Config) *Service {
	s := &Service{store: cfg.Store, clock: cfg.Clock, log: cfg.Log, publicURL: cfg.PublicURL,
		recovered: cfg.Recovered, client: NewClient(Options{AllowPrivate: cfg.AllowPrivate, Clock: cfg.Clock,
			Recovered: cfg.Recovered}),
		attempts: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "tapeline_webhook_attempts_total",
			Help: "Attempts at delivering webhook messages, by outcome.",
		}, []string{"outcome"})}
	cfg.Registry.MustRegister(s.attempts)
	s.dispatcher = dispatcher{service: s, shares: newShares(cfg.Workers)}
	return s
}

// Statuses of a message.
const (
	messagePending   = "pending"
	messageDelivered = "delivered"
	messageDead      = "dead"
)

// Message is an event as it is sent to one endpoint.
type Message struct {
	ID            uuid.UUID // the same over all attempts
	EndpointID    uuid.UUID
	Type          EventType
	OrderID       *uuid.UUID // nil: a test message
	Body          Event
	Status        string // pending, delivered or dead
	Attempts      int    // ever made
	NextAttemptAt *time.Time
	CreatedAt     time.Time
	SettledAt     *time.Time
}

func toMessage(row query.WebhookMessage) (Message, error) {
	m := Message{ID: row.ID, EndpointID: row.EndpointID, Type: EventType(row.Type), OrderID: row.OrderID,
		Status:   row.Status,
		Attempts: row.Attempts, NextAttemptAt: row.NextAttemptAt, CreatedAt: row.CreatedAt, SettledAt: row.SettledAt}
	if err := json.Unmarshal([]byte(row.Body), &m.Body); err != nil {
		return Message{}, fmt.Errorf("body of message %s: %w", row.ID, err)
	}
	return m, nil
}

// Message returns a message.
func (s *Service) Message(ctx context.Context, caller service.Caller, id uuid.UUID) (Message, error) {
	row, err := s.store.Message(ctx, query.MessageParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return Message{}, service.OrNotFound(err, "webhook message")
	}
	return toMessage(row)
}

// Filter selects messages; a zero field selects all.
type Filter struct {
	Type       EventType
	Status     string
	EndpointID uuid.UUID
	OrderID    uuid.UUID
}

// Messages lists the shop's messages, newest first, and returns the ID to
// continue after.
func (s *Service) Messages(
	ctx context.Context, caller service.Caller, f Filter, page service.Page,
) ([]Message, uuid.UUID, error) {
	rows, err := s.store.ListMessages(ctx, query.ListMessagesParams{ShopID: caller.Shop, Below: page.Below(),
		Limit: int(page.Rows()),
		Type:  service.Optional(string(f.Type)), Status: service.Optional(f.Status),
		EndpointID: service.Optional(f.EndpointID), OrderID: service.Optional(f.OrderID)})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(m query.WebhookMessage) uuid.UUID { return m.ID })
	messages := make([]Message, len(rows))
	for i, row := range rows {
		if messages[i], err = toMessage(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return messages, next, nil
}

// Attempt is one try at delivering a message.
type Attempt struct {
	Number     int // from 1, over all replays
	Outcome    string
	HTTPStatus *int   // nil: no answer
	Error      string // why there was none
	StartedAt  time.Time
	DurationMS int
}

// maxAttempts limits the attempts that are listed: some replays of a whole
// schedule.
const maxAttempts = 100

// Attempts lists the latest attempts at a message, oldest first.
func (s *Service) Attempts(ctx context.Context, caller service.Caller, message uuid.UUID) ([]Attempt, error) {
	if _, err := s.Message(ctx, caller, message); err != nil {
		return nil, err
	}
	rows, err := s.store.ListAttempts(ctx, query.ListAttemptsParams{ShopID: caller.Shop, MessageID: message,
		Limit: maxAttempts})
	attempts := make([]Attempt, len(rows))
	for i, a := range rows {
		attempts[i] = Attempt{Number: a.Number, Outcome: a.Outcome, HTTPStatus: a.HTTPStatus,
			StartedAt: a.StartedAt, DurationMS: a.DurationMS}
		if a.Error != nil {
			attempts[i].Error = *a.Error
		}
	}
	slices.Reverse(attempts)
	return attempts, err
}

// ReplayMessage delivers a settled message again, with the same ID. It fails
// with CodeWrongState while the message is still being tried.
func (s *Service) ReplayMessage(ctx context.Context, caller service.Caller, id uuid.UUID) (Message, error) {
	now := s.clock.Now()
	var row query.WebhookMessage
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		row, err = tx.ReplayMessage(ctx, query.ReplayMessageParams{ShopID: caller.Shop, ID: id, At: now})
		if errors.Is(err, db.ErrNotFound) {
			if _, err := tx.Message(ctx, query.MessageParams{ShopID: caller.Shop, ID: id}); err != nil {
				return service.OrNotFound(err, "webhook message")
			}
			return service.Refuse(service.CodeWrongState, "the message is still being tried")
		}
		if err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_message.replayed", Subject: id, At: now})
	})
	if err != nil {
		return Message{}, err
	}
	return toMessage(row)
}
