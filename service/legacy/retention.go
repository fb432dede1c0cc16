package legacy

import (
	"context"
	"fmt"
	"time"

	"tapeline/service/work"
)

// batch is how many rows go in one transaction.
const batch = 1000

// Orphans returns jobs for orders and batches of refits that have waited
// since before a time and have none.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	orders, err := s.store.LeftOrders(ctx, draftArgs{}.Kind(), before, limit)
	if err != nil {
		return nil, fmt.Errorf("find orders left: %w", err)
	}
	batches, err := s.store.LeftBatches(ctx, refitArgs{}.Kind(), before, limit)
	if err != nil {
		return nil, fmt.Errorf("find batches of refits left: %w", err)
	}
	var jobs jobList
	for _, o := range orders {
		jobs = append(jobs, draftJob(o.ID, o.DraftRequest))
	}
	for _, b := range batches {
		jobs = append(jobs, refitJob(b.RefitID, b.Batch, RefitState(b.State)))
	}
	return jobs, nil
}
