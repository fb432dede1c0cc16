package webhooks

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// A listener is an endpoint whose messages a developer's program fetches, forwards
// and reports on, where no address of it can be reached from here. Messages are
// queued, signed, retried and given up as those of any endpoint.
const (
	// listenerLasts is how long a listener lives after it last fetched.
	listenerLasts = 5 * time.Minute

	maxListeners = 5  // of a shop
	fetchedMost  = 10 // messages fetched at once
)

// CreateListener registers a listener and returns its signing secret: the only time
// that it can be read. forwardTo is where its program forwards messages, for people
// who look; nothing is sent there.
func (s *Service) CreateListener(
	ctx context.Context, caller service.Caller, forwardTo string, events []EventType,
) (Endpoint, string, error) {
	if events == nil {
		events = EventTypes()
	}
	now, secret := s.clock.Now(), NewSecret()
	until := now.Add(listenerLasts)
	row := query.InsertEndpointParams{ID: s.clock.NewID(), ShopID: caller.Shop, URL: forwardTo, Description: "listener",
		Events: toStrings(events), Secret: []byte(secret), ListensUntil: &until, At: now}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockShop(ctx, caller.Shop); err != nil {
			return err
		}
		living, err := tx.CountListeners(ctx, query.CountListenersParams{ShopID: caller.Shop, At: now})
		if err != nil {
			return err
		}
		if living >= maxListeners {
			return service.Refuse(service.CodeLimitReached, "a shop has at most %d listeners; one that no longer fetches "+
				"ends after %s", maxListeners, listenerLasts)
		}
		if err := tx.InsertEndpoint(ctx, row); err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_listener.created", Subject: row.ID, At: now})
	})
	return Endpoint{ID: row.ID, URL: forwardTo, Description: row.Description, Events: events, CreatedAt: now,
		UpdatedAt: now}, secret, err
}

// Fetched is a message for a listener to forward as it is.
type Fetched struct {
	ID      uuid.UUID
	Attempt int
	Header  http.Header // of Standard Webhooks
	Body    string
}

// Report is the outcome of an attempt at a fetched message.
type Report struct {
	Message  uuid.UUID
	Attempt  int
	Status   int    // of the answer, if Error is ""
	Error    string // why there was no answer
	Duration time.Duration
}

// reportedError is the reason that a listener gives.
type reportedError string

func (e reportedError) Error() string { return string(e) }

// Report records what became of messages that a listener had fetched, and lets the
// listener live on. It fails with CodeNotFound if the listener is over.
func (s *Service) Report(
	ctx context.Context, caller service.Caller, listener uuid.UUID, reports []Report,
) error {
	now := s.clock.Now()
	_, err := s.store.ExtendListener(ctx, query.ExtendListenerParams{ShopID: caller.Shop, ID: listener, At: now,
		Until: now.Add(listenerLasts)})
	if err != nil {
		return service.OrNotFound(err, "listener")
	}
	for _, r := range reports {
		if err := s.report(ctx, caller, listener, r); err != nil {
			return err
		}
	}
	return nil
}

// Fetch returns the messages that are due to a listener of the caller's, for whom
// Report has found it. A message that is not reported within a minute is due again.
func (s *Service) Fetch(ctx context.Context, listener uuid.UUID) ([]Fetched, error) {
	now := s.clock.Now()
	claimed, err := s.store.ClaimForListener(ctx, query.ClaimForListenerParams{EndpointID: listener, At: now,
		ClaimedUntil: now.Add(claimFor), Limit: fetchedMost})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(claimed, func(a, b db.ListenerMessage) int { return a.CreatedAt.Compare(b.CreatedAt) })
	fetched := make([]Fetched, len(claimed))
	for i, m := range claimed {
		header, err := Sign(m.Secrets.Valid(now), m.ID.String(), now, []byte(m.Body))
		if err != nil {
			return nil, fmt.Errorf("sign message %s: %w", m.ID, err)
		}
		fetched[i] = Fetched{ID: m.ID, Attempt: m.Attempts + 1, Header: header, Body: m.Body}
	}
	return fetched, nil
}

// report records an attempt. One that was recorded before, or at another listener's
// message, changes nothing.
func (s *Service) report(ctx context.Context, caller service.Caller, listener uuid.UUID, r Report) error {
	m, err := s.store.Message(ctx, query.MessageParams{ShopID: caller.Shop, ID: r.Message})
	if err != nil || m.EndpointID != listener {
		return service.OrNotFound(err, "webhook message")
	}
	out := Outcome{Status: r.Status, Duration: r.Duration}
	if r.Error != "" {
		out = Outcome{Err: reportedError(r.Error), Duration: r.Duration}
	}
	_, err = s.recordAttempt(ctx, m.ID, r.Attempt, m.Tries+1, s.clock.Now().Add(-r.Duration), out)
	return err
}

// DeleteListener ends a listener and gives up its messages.
func (s *Service) DeleteListener(ctx context.Context, caller service.Caller, id uuid.UUID) error {
	now := s.clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := tx.Endpoint(ctx, query.EndpointParams{ShopID: caller.Shop, ID: id})
		if err == nil && row.ListensUntil == nil {
			err = db.ErrNotFound
		}
		if err != nil {
			return service.OrNotFound(err, "listener")
		}
		if _, err := tx.DeleteEndpoint(ctx, query.DeleteEndpointParams{ShopID: caller.Shop, ID: id, At: now}); err != nil {
			return service.OrNotFound(err, "listener")
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "webhook_listener.deleted", Subject: id, At: now})
	})
}
