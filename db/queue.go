package db

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// QueuedJobs counts River's jobs of one kind and state that are not done:
// waiting, running, or given up after too many failures.
type QueuedJobs struct {
	Kind   string
	State  string // available, scheduled, retryable, running, pending, discarded
	Count  int64
	Oldest time.Time // when the longest waiting was due
}

// QueuedJobs tells what is not done, for metrics.
func (q Queries) QueuedJobs(ctx context.Context) ([]QueuedJobs, error) {
	return many[QueuedJobs](ctx, q.db, `
		SELECT kind, state::text AS state, count(*) AS count, min(scheduled_at) AS oldest
		FROM river_job
		WHERE state IN ('available', 'scheduled', 'retryable', 'running', 'pending', 'discarded')
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

// WaitingOrders counts orders that wait to be drafted, and since when the
// first does (zero for none). Whatever holds them up, it shows here.
func (q Queries) WaitingOrders(ctx context.Context) (count int64, since time.Time, err error) {
	var at *time.Time
	err = q.db.QueryRow(ctx, `
		SELECT count(*), min(updated_at) FROM orders WHERE status = 'received'`).Scan(&count, &at)
	if at != nil {
		since = *at
	}
	return count, since, translate(err)
}

// LeftOrder is an order that waits for a draft which no job is coming to make.
type LeftOrder struct {
	ID           uuid.UUID
	DraftRequest int
}

// LeftOrders lists orders that have waited since before the time and have no
// job that is still to run: their job was given up, or lost with a restored
// backup. Drafting may be asked for again without harm, since SettleDraft takes
// one result for each request.
func (q Queries) LeftOrders(ctx context.Context, kind string, before time.Time, limit int) ([]LeftOrder, error) {
	return many[LeftOrder](ctx, q.db, `
		SELECT o.id, o.draft_request FROM orders o
		WHERE o.status = 'received' AND o.updated_at < $2
			AND NOT EXISTS (SELECT FROM river_job j WHERE j.kind = $1 AND `+unfinished+`
				AND j.args ->> 'order_id' = o.id::text AND (j.args ->> 'request')::integer = o.draft_request)
		ORDER BY o.updated_at LIMIT $3`, kind, before, limit)
}

// LeftMessages lists pending messages that were due before the time and have
// no job that is still to run.
func (q Queries) LeftMessages(ctx context.Context, kind string, before time.Time, limit int) ([]uuid.UUID, error) {
	rows, err := q.db.Query(ctx, `
		SELECT m.id FROM webhook_messages m
		WHERE m.status = 'pending' AND m.next_attempt_at < $2
			AND NOT EXISTS (SELECT FROM river_job j WHERE j.kind = $1 AND `+unfinished+`
				AND j.args ->> 'message_id' = m.id::text)
		ORDER BY m.next_attempt_at LIMIT $3`, kind, before, limit)
	if err != nil {
		return nil, translate(err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	return ids, translate(err)
}

// unfinished is River's condition for a job j that will run or is running.
const unfinished = `j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')`
