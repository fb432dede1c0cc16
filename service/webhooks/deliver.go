package webhooks

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/work"
)

// Delivery is the job to deliver a message. Whoever queues a message enqueues
// it in the same transaction.
type Delivery struct {
	MessageID uuid.UUID `json:"message_id"`
}

// Kind names the job.
func (Delivery) Kind() string { return "deliver" }

// Queue returns the queue of deliveries.
func (Delivery) Queue() work.Queue { return work.Webhooks }

// Deliveries returns the jobs to deliver messages.
func Deliveries(messages []uuid.UUID) []work.Args {
	jobs := make([]work.Args, len(messages))
	for i, id := range messages {
		jobs[i] = Delivery{id}
	}
	return jobs
}

// Outcomes of an attempt at delivery, as they are stored and counted.
const (
	outcomeDelivered = "delivered"
	outcomeRefused   = "refused"   // answered, but not with 2xx
	outcomeGone      = "gone"      // 410: the endpoint is disabled
	outcomeNoAnswer  = "no_answer" // time-out, broken connection
	outcomeForbidden = "address_refused"
)

func outcomeOf(out Outcome) string {
	switch {
	case out.Refused:
		return outcomeForbidden
	case out.Status == 0:
		return outcomeNoAnswer
	case out.Delivered():
		return outcomeDelivered
	case out.Gone():
		return outcomeGone
	default:
		return outcomeRefused
	}
}

// next says what follows an attempt: the status of the message, and the wait
// before the next attempt while it is pending. tries is how many attempts were
// made since the message was queued or replayed, this one included.
func next(out Outcome, tries int, jitter float64) (status string, wait time.Duration) {
	if out.Delivered() {
		return messageDelivered, 0
	}
	wait, more := Delay(tries, jitter)
	if out.Gone() || !more {
		return messageDead, 0
	}
	return messagePending, min(max(wait, out.RetryAfter), maxWait)
}

// maxWait limits what a receiver may ask for with Retry-After.
const maxWait = 24 * time.Hour

// deliver works on a Delivery: at least once, with the same ID, until an
// attempt succeeds or the schedule ends.
func (s *Service) deliver(ctx context.Context, job *work.Job[Delivery]) error {
	d, err := s.store.Delivery(ctx, job.Args.MessageID)
	if errors.Is(err, db.ErrNotFound) {
		return nil // removed by retention
	}
	if err != nil {
		return fmt.Errorf("read message: %w", err)
	}
	now := s.clock.Now()
	switch {
	case d.Status != messagePending:
		return nil
	case d.Disabled:
		return s.store.GiveUpMessage(ctx, query.GiveUpMessageParams{ID: d.ID, At: now})
	case d.NextAttemptAt != nil && d.NextAttemptAt.Sub(now) > time.Second:
		return work.Again(d.NextAttemptAt.Sub(now))
	}
	if !s.busy.enter(d.EndpointID) {
		return work.Again(time.Duration(2+rand.IntN(4)) * time.Second)
	}
	defer s.busy.leave(d.EndpointID)
	return s.attempt(ctx, d, now)
}

// attempt makes one attempt and records what came of it.
func (s *Service) attempt(ctx context.Context, d db.Delivery, now time.Time) error {
	header, err := Sign(d.Secrets.Valid(now), d.ID.String(), now, []byte(d.Body))
	if err != nil {
		return fmt.Errorf("sign message %s: %w", d.ID, err)
	}
	out := s.client.Deliver(ctx, d.URL, header, []byte(d.Body))
	if ctx.Err() != nil {
		return ctx.Err() // shutting down: not the receiver's failure
	}
	end := s.clock.Now()
	status, wait := next(out, d.Tries+1, rand.Float64())
	a := query.RecordAttemptParams{MessageID: d.ID, Number: d.Attempts + 1, Outcome: outcomeOf(out),
		HTTPStatus: service.Optional(out.Status),
		StartedAt:  now, DurationMS: int(out.Duration.Milliseconds()), Status: status}
	if status == messagePending {
		a.NextAttemptAt = new(end.Add(wait))
	} else {
		a.SettledAt = &end
	}
	s.attempts.WithLabelValues(a.Outcome).Inc()
	recorded, err := s.store.RecordAttempt(ctx, a)
	switch {
	case err != nil || recorded == 0: // another worker recorded an attempt meanwhile
		return err
	case status == messagePending:
		return work.Again(wait)
	case status == messageDead:
		s.log.Warn("webhook message given up", "message_id", d.ID, "endpoint_id", d.EndpointID, "outcome", a.Outcome)
	}
	if a.Outcome == outcomeGone {
		return s.store.DisableEndpoint(ctx, query.DisableEndpointParams{ShopID: d.ShopID, ID: d.EndpointID,
			Reason: new(disabledGone), At: end})
	}
	return nil
}

// Orphans returns jobs for messages that were due before a time and have none:
// their job was given up, or lost with a restored backup.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	ids, err := s.store.OrphanedMessages(ctx, query.OrphanedMessagesParams{Kind: Delivery{}.Kind(), Before: before,
		Limit: limit})
	return Deliveries(ids), err
}

// endpointShare limits one endpoint to part of the workers, so that a slow one
// does not hold up the others.
type endpointShare struct {
	max   int
	mu    sync.Mutex
	count map[uuid.UUID]int
}

func (e *endpointShare) enter(id uuid.UUID) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.count[id] >= e.max {
		return false
	}
	e.count[id]++
	return true
}

func (e *endpointShare) leave(id uuid.UUID) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.count[id]--; e.count[id] == 0 {
		delete(e.count, id)
	}
}
