package legacy

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service/webhook"
	"tapeline/service/work"
)

// Outcomes of an attempt at delivery, as they are kept and counted.
const (
	outcomeDelivered = "delivered"
	outcomeRefused   = "refused"   // answered, but not with 2xx
	outcomeGone      = "gone"      // 410: the endpoint is switched off
	outcomeNoAnswer  = "no_answer" // time-out, broken connection
	outcomeForbidden = "address_refused"
)

// deliverWorker delivers webhook messages: at least once, with the same id,
// until one attempt succeeds or the schedule ends.
type deliverWorker struct {
	service *Service
	busy    endpointShare
}

func newDeliverWorker(s *Service) *deliverWorker {
	return &deliverWorker{service: s, busy: endpointShare{most: max(1, s.cfg.DeliverWorkers/2), count: map[uuid.UUID]int{}}}
}

func (w *deliverWorker) Work(ctx context.Context, job *work.Job[deliverArgs]) error {
	s := w.service
	d, err := s.store.Delivery(ctx, job.Args.MessageID)
	if errors.Is(err, db.ErrNotFound) {
		return nil // cleared away
	}
	if err != nil {
		return fmt.Errorf("read message: %w", err)
	}
	now := s.now()
	switch {
	case d.Status != messagePending:
		return nil
	case d.Disabled:
		return s.store.GiveUpMessage(ctx, d.ID, now)
	case d.NextAttemptAt != nil && d.NextAttemptAt.Sub(now) > time.Second:
		return work.Again(d.NextAttemptAt.Sub(now))
	}
	if !w.busy.enter(d.EndpointID) {
		return work.Again(time.Duration(2+rand.IntN(4)) * time.Second)
	}
	defer w.busy.leave(d.EndpointID)
	return s.attempt(ctx, d, now)
}

// attempt makes one attempt and records what came of it.
func (s *Service) attempt(ctx context.Context, d db.Delivery, now time.Time) error {
	header, err := webhook.Sign(d.Secrets.Valid(now), d.ID.String(), now, []byte(d.Body))
	if err != nil {
		return fmt.Errorf("sign message %s: %w", d.ID, err)
	}
	out := s.hooks.Deliver(ctx, d.URL, header, []byte(d.Body))
	if ctx.Err() != nil {
		return ctx.Err() // shutting down: not the receiver's failure
	}
	a := db.Attempt{MessageID: d.ID, Number: d.Attempts + 1, Outcome: outcomeOf(out), StartedAt: now, DurationMS: int(out.Duration.Milliseconds())}
	if out.Status != 0 {
		a.HTTPStatus = &out.Status
	}
	s.measure.attempted(a.Outcome)
	end := s.now()
	wait, more := webhook.Delay(d.Tries+1, rand.Float64())
	switch {
	case a.Outcome == outcomeDelivered:
		_, err = s.store.RecordAttempt(ctx, a, messageDelivered, nil, &end)
		return err
	case a.Outcome == outcomeGone, !more:
		if _, err = s.store.RecordAttempt(ctx, a, messageDead, nil, &end); err != nil {
			return err
		}
		s.log.Warn("webhook message given up", "message_id", d.ID, "endpoint_id", d.EndpointID, "outcome", a.Outcome)
		if a.Outcome == outcomeGone {
			if err := s.store.DisableEndpoint(ctx, d.ShopID, d.EndpointID, disabledGone, end); !errors.Is(err, db.ErrNotFound) {
				return err
			}
		}
		return nil
	default:
		wait = min(max(wait, out.RetryAfter), longestWait)
		next := end.Add(wait)
		recorded, err := s.store.RecordAttempt(ctx, a, messagePending, &next, nil)
		if err != nil || !recorded {
			return err
		}
		return work.Again(wait)
	}
}

// longestWait bounds what a receiver may ask for with Retry-After.
const longestWait = 24 * time.Hour

func outcomeOf(out webhook.Outcome) string {
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

// endpointShare lets one endpoint have no more than part of the workers, so
// that a slow one does not hold up the others.
type endpointShare struct {
	most  int
	mu    sync.Mutex
	count map[uuid.UUID]int
}

func (e *endpointShare) enter(id uuid.UUID) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.count[id] >= e.most {
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
