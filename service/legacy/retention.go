package legacy

import (
	"context"
	"fmt"
	"time"

	"tapeline/db"
	"tapeline/service/work"
)

// Retention is how long what is past its use is kept.
type Retention struct {
	Answers  time.Duration // answers to repeated requests; at least 48 h, as the contract promises
	Messages time.Duration // webhook messages delivered or given up, and notes of inbound ones
	Links    time.Duration // download links after they expire
}

// WithDefaults fills in what is zero.
func (r Retention) WithDefaults() Retention {
	const day = 24 * time.Hour
	if r.Answers == 0 {
		r.Answers = 3 * day
	}
	if r.Messages == 0 {
		r.Messages = 30 * day
	}
	if r.Links == 0 {
		r.Links = 30 * day
	}
	return r
}

// retentionWorker clears away what is past its use, and erases customers whom
// their shop wants kept no longer. River runs it on one replica at a time.
type retentionWorker struct {
	service *Service
}

// batch is how many rows go in one transaction.
const batch = 1000

func (w *retentionWorker) Work(ctx context.Context, _ *work.Job[retentionArgs]) error {
	return w.service.ClearAway(ctx, w.service.now())
}

// ClearAway takes up work that was left, removes what at the time is past its
// use, and erases customers whom their shop wants kept no longer. It runs every
// hour as a job.
func (s *Service) ClearAway(ctx context.Context, now time.Time) error {
	keep := s.cfg.Retention.WithDefaults()
	if err := s.takeUpLeft(ctx, now); err != nil {
		return err
	}
	for _, clear := range []struct {
		what   string
		before time.Time
		delete func(context.Context, time.Time, int) (int64, error)
	}{
		{"answers", now.Add(-keep.Answers), s.store.DeleteAnswers},
		{"webhook messages", now.Add(-keep.Messages), s.store.DeleteMessages},
		{"inbound messages", now.Add(-keep.Messages), s.store.DeleteInboundMessages},
		{"links", now.Add(-keep.Links), s.store.DeleteLinks},
	} {
		total, err := untilDone(func() (int64, error) { return clear.delete(ctx, clear.before, batch) })
		if err != nil {
			return fmt.Errorf("clear away %s: %w", clear.what, err)
		}
		if total > 0 {
			s.log.Info("cleared away", "what", clear.what, "count", total)
		}
	}
	return s.eraseStale(ctx, now)
}

// leftAfter is how long work may lie before it is looked for by itself: longer
// than a job that is on its way takes to begin.
const leftAfter = 5 * time.Minute

// takeUpLeft enqueues again what waits and no job is coming for: a job that was
// given up, or lost with a backup that the database was restored from. A job
// that comes twice does nothing the second time.
func (s *Service) takeUpLeft(ctx context.Context, now time.Time) error {
	orders, err := s.store.LeftOrders(ctx, draftArgs{}.Kind(), now.Add(-leftAfter), batch)
	if err != nil {
		return fmt.Errorf("find orders left: %w", err)
	}
	messages, err := s.store.LeftMessages(ctx, deliverArgs{}.Kind(), now.Add(-leftAfter), batch)
	if err != nil {
		return fmt.Errorf("find messages left: %w", err)
	}
	batches, err := s.store.LeftBatches(ctx, refitArgs{}.Kind(), now.Add(-leftAfter), batch)
	if err != nil {
		return fmt.Errorf("find batches of refits left: %w", err)
	}
	var jobs jobList
	for _, b := range batches {
		jobs = append(jobs, refitJob(b.RefitID, b.Batch, RefitState(b.State)))
	}
	proofs, err := s.store.LeftProofs(ctx, proveArgs{}.Kind(), now.Add(-leftAfter), batch)
	if err != nil {
		return fmt.Errorf("find proofs left: %w", err)
	}
	for _, id := range proofs {
		jobs = append(jobs, proveJob(id))
	}
	for _, o := range orders {
		jobs = append(jobs, draftJob(o.ID, o.DraftRequest))
	}
	for _, id := range messages {
		jobs = append(jobs, deliverJob(id))
	}
	if len(jobs) == 0 {
		return nil
	}
	if err := s.store.InTx(ctx, func(tx *db.Tx) error { return s.enqueue(ctx, tx, jobs) }); err != nil {
		return fmt.Errorf("take up what was left: %w", err)
	}
	s.log.Warn("took up what no job was coming for", "orders", len(orders), "messages", len(messages), "refit_batches", len(batches), "proofs", len(proofs))
	return nil
}

// untilDone repeats a deletion until there is less than a batch left.
func untilDone(delete func() (int64, error)) (total int64, err error) {
	for {
		n, err := delete()
		total += n
		if err != nil || n < batch {
			return total, err
		}
	}
}

// eraseStale erases customers kept for longer than their shop wants.
func (s *Service) eraseStale(ctx context.Context, now time.Time) error {
	for {
		stale, err := s.store.StaleCustomers(ctx, now, batch)
		if err != nil {
			return fmt.Errorf("find stale customers: %w", err)
		}
		for _, c := range stale {
			if _, err := s.EraseCustomer(ctx, Caller{Shop: c.ShopID}, c.ID); err != nil {
				return fmt.Errorf("erase customer %s: %w", c.ID, err)
			}
		}
		if len(stale) < batch {
			return nil
		}
	}
}
