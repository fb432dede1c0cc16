package fittings

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
	"tapeline/service/work"
)

// Times of the job.
const (
	mostTime  = 60 * time.Second // of a processor; a dress takes 1 to 5 s
	lookEvery = time.Second      // between two looks whether the fitting was cancelled
	otherFits = 2 * time.Second  // before the next try for each fitting of the shop that goes first
	mostAhead = 30               // of these, from which on more make no difference
)

// Reasons why a fitting under way ends early.
var (
	ErrGone   = errors.New("cancelled, or its customer was erased")
	ErrHalted = errors.New("the program stops")
)

// try makes a fitting. A worker may stop at any point, and two may have the same
// job: one result is stored.
func (s *Service) try(ctx context.Context, job *work.Job[orders.FittingJob]) error {
	id := job.Args.FittingID
	w, err := s.store.FittingWork(ctx, id)
	if errors.Is(err, db.ErrNotFound) || err == nil && State(w.State).finished() {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read fitting: %w", err)
	}
	if w.Needless {
		_, err := s.store.FinishFitting(ctx, query.FinishFittingParams{ID: id, State: string(Cancelled), At: s.Clock.Now()})
		return err
	}
	begun, err := s.begin(ctx, w.ShopID, id)
	if err != nil {
		return err
	}
	if !begun {
		ahead, err := s.store.FittingsAhead(ctx, id)
		if err != nil {
			return err
		}
		return work.Again(otherFits * time.Duration(min(max(ahead, 1), mostAhead)))
	}
	trying, end := s.Watch(ctx, func(ctx context.Context) (bool, error) { return s.gone(ctx, id) })
	tried, err := s.tryOn(trying, id, w)
	end()
	switch cause := context.Cause(trying); {
	case err == nil:
		return s.finish(ctx, id, w, tried)
	case errors.Is(cause, ErrGone):
		return nil
	case errors.Is(cause, ErrHalted):
		if err := s.store.RequeueFitting(context.WithoutCancel(ctx), id); err != nil {
			return err
		}
		return work.Again(0)
	case service.Unavailable(err):
		return err
	}
	return s.fail(context.WithoutCancel(ctx), id, w, err)
}

func (s State) finished() bool { return s != Queued && s != Running }

// begin marks a fitting as running and reports whether it may run: one of a shop
// does at a time.
func (s *Service) begin(ctx context.Context, shop, id uuid.UUID) (begun bool, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockShop(ctx, shop); err != nil {
			return err
		}
		n, err := tx.StartFitting(ctx, query.StartFittingParams{ID: id, At: s.Clock.Now()})
		begun = n > 0
		return err
	})
	return begun, err
}

// Watch returns a context that ends with ErrGone as its cause once gone reports true,
// and with ErrHalted when the program stops. end ends the watching.
func (s *Service) Watch(
	ctx context.Context, gone func(context.Context) (bool, error),
) (watched context.Context, end func()) {
	watched, cancel := context.WithCancelCause(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(lookEvery)
		defer tick.Stop()
		for {
			select {
			case <-watched.Done():
				return
			case <-s.halted:
				cancel(ErrHalted)
				return
			case <-tick.C:
			}
			if is, err := gone(watched); err == nil && is {
				cancel(ErrGone)
			}
		}
	}()
	return watched, func() {
		cancel(nil)
		<-done
	}
}

// gone reports whether a fitting was cancelled or erased.
func (s *Service) gone(ctx context.Context, id uuid.UUID) (bool, error) {
	w, err := s.store.FittingWork(ctx, id)
	if errors.Is(err, db.ErrNotFound) {
		return true, nil
	}
	return State(w.State).finished(), err
}

// tried is a fitting with its picture, packed.
type tried struct {
	report  Report
	picture []byte
}

// tryOn tries the stored draft on, on a spare core.
func (s *Service) tryOn(ctx context.Context, id uuid.UUID, w query.FittingWorkRow) (t tried, err error) {
	caller := service.Caller{Shop: w.ShopID, TestOf: service.OrZero(w.TestOf)}
	d, err := s.Orders.OfDraft(ctx, caller, w.OrderID, w.Revision)
	if err != nil {
		return t, err
	}
	if err := s.Triable(d); err != nil {
		return t, err
	}
	order := d.Order
	options := drafting.FittingOptions{Draft: &d.Pattern, Cloth: service.OrZero(w.Cloth), Quick: Detail(w.Level) == Quick}
	err = s.Cores.DoFor(ctx, work.Bulk, w.ShopID, mostTime, func(ctx context.Context) error {
		f, err := drafting.TryOn(ctx, order, options)
		if err != nil {
			return err
		}
		t.report = Report{f.Report(fitting.OfMeasurements), []Cure{}, []Finding{}}
		p, err := f.Picture(ctx, f.Title(order.Label.Reference), f.Options)
		if err == nil {
			t.picture, err = pack(p)
		}
		if err != nil || !w.Cures || len(f.Findings) == 0 {
			return err
		}
		options.Form, options.Draft = f.Form, nil
		cured, err := drafting.Cures(ctx, order, options)
		if err != nil {
			return err
		}
		t.report.Remaining = append(t.report.Remaining, cured.Tried.Findings...)
		for _, c := range cured.Cures {
			t.report.Cures = append(t.report.Cures,
				Cure{c.Finding.Kind, c.Finding.Place, c.What, c.Name, c.Before, c.After, c.Words})
		}
		return nil
	})
	if err != nil {
		return t, fmt.Errorf("fitting %s: %w", id, err)
	}
	return t, nil
}

// Triable refuses a draft of another release whose sides differ: each half is drafted by
// this release to be tried on, which would not show the stored draft.
func (s *Service) Triable(d orders.StoredDraft) error {
	if d.Engine == s.Version || !d.SidesDiffer() {
		return nil
	}
	return fault.List{{Code: fault.Undraftable, Field: "/alterations", Accepted: fmt.Sprintf(
		"a draft whose sides differ is tried on by the release that drafted it, %s; draft it again", d.Engine)}}
}

// finish stores what a fitting found, holds its order if the shop wants that, and
// tells its endpoints.
func (s *Service) finish(ctx context.Context, id uuid.UUID, w query.FittingWorkRow, t tried) error {
	now := s.Clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		// The order first, as an erasure locks it.
		row, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: w.ShopID, ID: w.OrderID})
		if err != nil {
			return err
		}
		n, err := tx.FinishFitting(ctx, query.FinishFittingParams{ID: id, State: string(Ready),
			Report: db.JSON(t.report), Picture: t.picture, Engine: &s.Version, At: now})
		if err != nil || n == 0 {
			return err
		}
		caller := service.Caller{Shop: w.ShopID, TestOf: service.OrZero(w.TestOf)}
		hold, err := access.HoldOnFitting(ctx, tx.Queries, caller.Owner())
		if err != nil {
			return err
		}
		return s.Orders.Fitted(ctx, tx, row, id, w.Revision, holding(hold, t.report), now)
	})
}

// holding returns the words of a report's findings if one of them holds the order
// under a shop's setting, nil if none does. Of cloth that did not come to rest only
// what needs no cloth counts.
func holding(setting string, r Report) (words []string) {
	if setting == access.Off {
		return nil
	}
	held := false
	for _, f := range r.Findings {
		if !r.Settled && f.Kind != fitting.NotPutOn {
			continue
		}
		held = held || setting == access.Any || f.Kind.AtLeast(fitting.Kind(setting))
		words = append(words, f.Words)
	}
	if !held {
		return nil
	}
	return words
}

// fail stores why a fitting was not made.
func (s *Service) fail(ctx context.Context, id uuid.UUID, w query.FittingWorkRow, failed error) error {
	p := query.FinishFittingParams{ID: id, State: string(Failed), Engine: &s.Version, At: s.Clock.Now()}
	reason, ours := ReasonOf(failed)
	if ours {
		s.Log.Error("fitting failed", "fitting_id", id, "order_id", w.OrderID, "error", failed)
	}
	p.Reason = &reason
	_, err := s.store.FinishFitting(ctx, p)
	return err
}

// Orphans returns jobs for unfinished fittings that were created before a time and
// have none.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	ids, err := s.store.OrphanedFittings(ctx,
		query.OrphanedFittingsParams{Kind: orders.FittingJob{}.Kind(), Before: before, Limit: limit})
	jobs := make([]work.Args, len(ids))
	for i, id := range ids {
		jobs[i] = orders.FittingJob{FittingID: id, Waiting: orders.BehindRequests}
	}
	return jobs, err
}
