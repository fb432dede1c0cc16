package webhooks

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

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
	case out.Err != nil:
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

// attempt makes one attempt at a claimed message and records what came of it.
// Every attempt has the message's ID, so that the receiver can tell repeats.
func (s *Service) attempt(ctx context.Context, m db.ClaimedMessage) error {
	start := s.clock.Now()
	header, err := Sign(m.Secrets.Valid(start), m.ID.String(), start, []byte(m.Body))
	if err != nil {
		return fmt.Errorf("sign message %s: %w", m.ID, err)
	}
	out := s.client.Deliver(ctx, m.URL, header, []byte(m.Body))
	if ctx.Err() != nil {
		return ctx.Err() // shutting down: not the receiver's failure
	}
	recorded, err := s.recordAttempt(ctx, m.ID, m.Attempts+1, m.Tries+1, start, out)
	if err != nil || !recorded {
		return err
	}
	return s.judge(ctx, m, out, s.clock.Now())
}

// recordAttempt records an attempt with the number at a message, and what follows from
// it for the message. It reports false if the message was settled, or attempted by
// somebody else, meanwhile.
func (s *Service) recordAttempt(
	ctx context.Context, message uuid.UUID, number, tries int, start time.Time, out Outcome,
) (bool, error) {
	end := s.clock.Now()
	status, wait := next(out, tries, rand.Float64())
	a := query.RecordAttemptParams{MessageID: message, Number: number, Outcome: outcomeOf(out), StartedAt: start,
		DurationMS: int(out.Duration.Milliseconds()), Status: status}
	if out.Err != nil {
		a.Error = new(Describe(out.Err))
	} else {
		a.HTTPStatus = &out.Status
	}
	if status == messagePending {
		a.NextAttemptAt = new(end.Add(wait))
	} else {
		a.SettledAt = &end
	}
	s.attempts.WithLabelValues(a.Outcome).Inc()
	recorded, err := s.store.RecordAttempt(ctx, a)
	if err != nil || recorded == 0 {
		return false, err
	}
	if status == messageDead {
		s.log.Warn("webhook message given up", "message_id", message, "outcome", a.Outcome)
	}
	return true, nil
}

// judge keeps account of how an endpoint fares: one that is gone is disabled,
// one that keeps failing is paused.
func (s *Service) judge(ctx context.Context, m db.ClaimedMessage, out Outcome, at time.Time) error {
	switch {
	case out.Gone():
		return s.store.DisableEndpoint(ctx, query.DisableEndpointParams{ShopID: m.ShopID, ID: m.EndpointID,
			Reason: new(disabledGone), At: at})
	case !out.Delivered():
		return s.store.EndpointFailed(ctx, query.EndpointFailedParams{ID: m.EndpointID, At: at})
	case m.Failures > 0:
		return s.store.EndpointRecovered(ctx, m.EndpointID)
	}
	return nil
}

// heldFor is how long messages wait for an endpoint that its shop has disabled.
const heldFor = 7 * 24 * time.Hour

// EndListeners ends listeners that have not fetched for some time, and returns how
// many.
func (s *Service) EndListeners(ctx context.Context, now time.Time, limit int) (int64, error) {
	return s.store.DeleteListeners(ctx, query.DeleteListenersParams{Before: now, Limit: limit})
}

// GiveUp gives up at most limit messages that have waited too long for an
// endpoint that is disabled, and returns how many.
func (s *Service) GiveUp(ctx context.Context, now time.Time, limit int) (int64, error) {
	return s.store.GiveUpMessages(ctx, query.GiveUpMessagesParams{Before: now.Add(-heldFor), At: now, Limit: limit})
}
