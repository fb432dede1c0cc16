package legacy

import (
	"context"
	"fmt"
	"time"

	"tapeline/db"
)

// batch is how many rows go in one transaction.
const batch = 1000

// ClearAway takes up work that was left, and erases customers whom their shop
// wants kept no longer.
func (s *Service) ClearAway(ctx context.Context, now time.Time) error {
	return s.takeUpLeft(ctx, now)
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
	proofs, err := s.cfg.Styles.EnqueueOrphans(ctx, now.Add(-leftAfter), batch)
	if err != nil {
		return fmt.Errorf("enqueue orphaned proofs: %w", err)
	}
	if proofs > 0 {
		s.log.Warn("enqueued orphaned proofs", "proofs", proofs)
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
	s.log.Warn("took up what no job was coming for", "orders", len(orders), "messages", len(messages), "refit_batches", len(batches))
	return nil
}
