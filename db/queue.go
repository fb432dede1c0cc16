package db

import (
	"context"
	"time"

	"github.com/google/uuid"
)

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

// unfinished is River's condition for a job j that will run or is running.
const unfinished = `j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')`
