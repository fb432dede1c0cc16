-- name: QueuedJobs :many
-- QueuedJobs counts jobs that are not finished, by kind and state, with the
-- time at which the longest waiting was due.
SELECT kind, state::text AS state, count(*) AS count, min(scheduled_at)::timestamptz AS oldest
FROM river_job
WHERE state IN ('available', 'scheduled', 'retryable', 'running', 'pending', 'discarded')
GROUP BY kind, state ORDER BY kind, state;

-- name: WaitingOrders :one
-- WaitingOrders counts orders that wait to be drafted, with the time since when
-- the longest does.
SELECT count(*) AS count, coalesce(min(updated_at), 'epoch')::timestamptz AS oldest
FROM orders WHERE status = 'received';
