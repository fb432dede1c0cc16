package legacy

import (
	"context"
	"errors"

	"github.com/google/uuid"

	"tapeline/db"
)

// Where a webhook message stands.
const (
	messagePending   = "pending"
	messageDelivered = "delivered"
	messageDead      = "dead"
)

type (
	// Message is an event as it is sent to one endpoint.
	Message = db.Message
	// MessageFilter chooses messages; a zero field chooses all.
	MessageFilter = db.MessageFilter
	// Attempt is one try at delivering a message.
	Attempt = db.Attempt
)

// Message reads a message.
func (s *Service) Message(ctx context.Context, caller Caller, id uuid.UUID) (Message, error) {
	m, err := s.store.Message(ctx, caller.Shop, id)
	return m, orNotFound(err, "webhook message")
}

// Messages lists the shop's messages, newest first.
func (s *Service) Messages(ctx context.Context, caller Caller, f MessageFilter, page Page) ([]Message, uuid.UUID, error) {
	rows, err := s.store.Messages(ctx, caller.Shop, f, more(page))
	return paged(rows, err, page, func(m Message) uuid.UUID { return m.ID })
}

// Attempts lists all attempts at a message, oldest first.
func (s *Service) Attempts(ctx context.Context, caller Caller, message uuid.UUID) ([]Attempt, error) {
	if _, err := s.Message(ctx, caller, message); err != nil {
		return nil, err
	}
	return s.store.Attempts(ctx, caller.Shop, message)
}

// ReplayMessage delivers a settled message again, with the same id. It fails
// with CodeWrongState while the message is still being tried.
func (s *Service) ReplayMessage(ctx context.Context, caller Caller, id uuid.UUID) (replayed Message, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		replayed, err = tx.ReplayMessage(ctx, caller.Shop, id, s.now())
		if errors.Is(err, db.ErrNotFound) {
			if _, err := tx.Message(ctx, caller.Shop, id); err != nil {
				return orNotFound(err, "webhook message")
			}
			return refuse(CodeWrongState, "the message is still being tried")
		}
		if err != nil {
			return err
		}
		if err := audit(ctx, tx, caller, s.now(), "webhook_message.replayed", id, nil); err != nil {
			return err
		}
		return s.enqueue(ctx, tx, jobList{deliverJob(id)})
	})
	return replayed, err
}
