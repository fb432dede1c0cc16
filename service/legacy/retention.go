package legacy

import (
	"context"
	"fmt"
	"time"

	"tapeline/service/work"
)

// Orphans returns jobs for batches of refits that have waited since before a
// time and have none.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	batches, err := s.store.LeftBatches(ctx, refitArgs{}.Kind(), before, limit)
	if err != nil {
		return nil, fmt.Errorf("find batches of refits left: %w", err)
	}
	var jobs []work.Args
	for _, b := range batches {
		jobs = append(jobs, refitJob(b.RefitID, b.Batch, RefitState(b.State)))
	}
	return jobs, nil
}
