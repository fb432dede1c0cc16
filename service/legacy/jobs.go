package legacy

import (
	"context"

	"tapeline/db"
	"tapeline/service/orders"
	"tapeline/service/work"
)

// jobList are jobs to be enqueued together.
type jobList []work.Args

// enqueue adds jobs in the transaction of what they follow from.
func (s *Service) enqueue(ctx context.Context, tx *db.Tx, jobs jobList) error {
	return s.jobs.Enqueue(ctx, tx, jobs...)
}

func deliverJobs(messages []db.QueuedMessage) []work.Args { return orders.Deliveries(messages) }

func (s *Service) registerJobs() {
	work.Handle(s.jobs, (&refitWorker{service: s}).Work)
}
