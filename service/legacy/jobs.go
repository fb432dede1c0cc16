package legacy

import (
	"context"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// draftArgs is the job to draft an order as it stood at a draft request.
type draftArgs struct {
	OrderID uuid.UUID `json:"order_id"`
	Request int       `json:"request"`
}

func (draftArgs) Kind() string      { return "draft" }
func (draftArgs) Queue() work.Queue { return work.Drafts }

// jobList are jobs to be enqueued together.
type jobList []work.Args

func draftJob(order uuid.UUID, request int) work.Args { return draftArgs{order, request} }

func deliverJobs(messages []db.QueuedMessage) jobList {
	jobs := make(jobList, len(messages))
	for i, m := range messages {
		jobs[i] = webhooks.Delivery{MessageID: m.ID}
	}
	return jobs
}

// enqueue adds jobs in the transaction of what they follow from.
func (s *Service) enqueue(ctx context.Context, tx *db.Tx, jobs jobList) error {
	return s.jobs.Enqueue(ctx, tx, jobs...)
}

func (s *Service) registerJobs() {
	work.Handle(s.jobs, (&draftWorker{service: s}).Work)
	work.Handle(s.jobs, (&refitWorker{service: s}).Work)
}
