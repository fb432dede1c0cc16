-- name: DatabaseTime :one
-- DatabaseTime reads the database's clock.
SELECT clock_timestamp()::timestamptz AS at;

-- name: RescueJobs :execrows
-- RescueJobs makes jobs available again that have run for longer than a job of
-- their queue may: their process was killed. One that has no attempt left is discarded.
UPDATE river_job SET scheduled_at = now(),
    state = (CASE WHEN attempt < max_attempts THEN 'available' ELSE 'discarded' END)::river_job_state,
    finalized_at = CASE WHEN attempt < max_attempts THEN NULL ELSE now() END
WHERE state = 'running' AND attempted_at < now() - make_interval(secs =>
    CASE WHEN queue = @long_queue::text THEN @long_seconds::double precision ELSE @seconds::double precision END);

-- name: QueuedJobs :many
-- QueuedJobs counts jobs that are not finished, by kind and state, with the
-- time at which the longest waiting was due.
SELECT kind, state::text AS state, count(*) AS count, min(scheduled_at)::timestamptz AS oldest
FROM river_job
WHERE state IN ('available', 'scheduled', 'retryable', 'running', 'pending', 'discarded')
GROUP BY kind, state ORDER BY kind, state;

-- name: OrphanedOrders :many
-- OrphanedOrders lists orders that have waited to be drafted since before a time
-- and have no unfinished job.
SELECT o.id, o.draft_request FROM orders o
WHERE o.status = 'received' AND o.updated_at < @before::timestamptz
    AND NOT EXISTS (
        SELECT FROM river_job j
        WHERE j.kind = @kind::text AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
            AND j.args ->> 'order_id' = o.id::text AND (j.args ->> 'request')::integer = o.draft_request)
ORDER BY o.updated_at LIMIT @limit_::integer;

-- name: WaitingOrders :one
-- WaitingOrders counts orders that wait to be drafted, with the time since when
-- the longest does.
SELECT count(*) AS count, coalesce(min(updated_at), 'epoch')::timestamptz AS oldest
FROM orders WHERE status = 'received';

-- name: DatabaseSize :one
-- DatabaseSize returns the size of the database on disk in bytes.
SELECT pg_database_size(current_database());
