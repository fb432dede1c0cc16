package db

import (
	"context"
	"time"
)

// QueuedJobs counts River's jobs of one kind and state that are not finished.
type QueuedJobs struct {
	Kind   string
	State  string // available, scheduled, retryable, running, pending
	Count  int64
	Oldest time.Time // when the longest waiting was due
}

// QueuedJobs tells what is waiting and running, for metrics.
func (q Queries) QueuedJobs(ctx context.Context) ([]QueuedJobs, error) {
	return many[QueuedJobs](ctx, q.db, `
		SELECT kind, state::text AS state, count(*) AS count, min(scheduled_at) AS oldest
		FROM river_job
		WHERE state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
		GROUP BY kind, state ORDER BY kind, state`)
}

// OwedMessages counts messages still to be delivered, and when the longest
// owed was made (zero for none).
func (q Queries) OwedMessages(ctx context.Context) (count int64, oldest time.Time, err error) {
	var at *time.Time
	err = q.db.QueryRow(ctx, `
		SELECT count(*), min(created_at) FROM webhook_messages WHERE status = 'pending'`).Scan(&count, &at)
	if at != nil {
		oldest = *at
	}
	return count, oldest, translate(err)
}
