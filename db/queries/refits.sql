-- name: Refit :one
SELECT * FROM refits WHERE shop_id = @shop_id AND id = @id;

-- name: RefitByID :one
-- RefitByID returns a refit of any shop, for a job.
SELECT * FROM refits WHERE id = @id;

-- name: LockRefit :one
-- LockRefit locks a refit until the transaction ends. Who writes for a refit
-- holds this lock, so that the last of its batches knows that it is the last.
SELECT * FROM refits WHERE id = @id FOR NO KEY UPDATE;

-- name: Refits :many
-- Refits lists a shop's refits, newest first.
SELECT * FROM refits WHERE shop_id = @shop_id AND id < @below::uuid ORDER BY id DESC LIMIT @limit_::integer;

-- name: UpdateRefit :one
-- UpdateRefit writes what may change of a refit. The caller has checked that its
-- status may follow the one before.
UPDATE refits SET status = @status, previewed_at = @previewed_at, decision = @decision, decided_by = @decided_by,
    decided_at = @decided_at, ended_by = @ended_by, ended_at = @ended_at
WHERE id = @id RETURNING id;

-- name: MissingOrders :many
-- MissingOrders returns those of the IDs that are not of orders of the shop.
SELECT u.id::uuid FROM unnest(@ids::uuid[]) u (id)
WHERE NOT EXISTS (SELECT FROM orders o WHERE o.shop_id = @shop_id AND o.id = u.id);

-- name: MissingRefitOrders :many
-- MissingRefitOrders returns those of the IDs that are not of orders of the refit.
SELECT u.id::uuid FROM unnest(@ids::uuid[]) u (id)
WHERE NOT EXISTS (SELECT FROM refit_orders r WHERE r.refit_id = @refit_id AND r.order_id = u.id);

-- name: RefitContenders :many
-- RefitContenders lists refits that are applying orders which change in this
-- one, of the IDs or, if they are NULL, of all.
SELECT other.refit_id, count(*) AS orders
FROM refit_orders r
JOIN refit_orders other ON other.order_id = r.order_id AND other.outcome = 'chosen' AND other.refit_id <> r.refit_id
WHERE r.refit_id = @refit_id AND r.finding = 'changes'
    AND (sqlc.narg('ids')::uuid[] IS NULL OR r.order_id = ANY (sqlc.narg('ids')::uuid[]))
GROUP BY other.refit_id ORDER BY other.refit_id;

-- name: StopRefitOrders :exec
-- StopRefitOrders ends what is chosen and not yet done.
UPDATE refit_orders SET outcome = 'stopped', settled_at = sqlc.arg('at')::timestamptz
WHERE refit_id = @refit_id AND outcome = 'chosen';

-- name: OrphanedBatches :many
-- OrphanedBatches lists the unfinished batches of refits that were begun, or
-- decided, before a time, without an unfinished job.
WITH w AS MATERIALIZED (
    SELECT DISTINCT r.id AS refit_id, o.batch, r.status
    FROM refits r JOIN refit_orders o ON o.refit_id = r.id
        AND CASE r.status WHEN 'previewing' THEN o.finding = 'waiting' ELSE o.outcome = 'chosen' END
    WHERE r.status IN ('previewing', 'applying') AND coalesce(r.decided_at, r.created_at) < @before::timestamptz
)
SELECT w.refit_id, w.batch, w.status FROM w
WHERE NOT EXISTS (
    SELECT FROM river_job j
    WHERE j.kind = @kind::text AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
        AND j.args ->> 'refit_id' = w.refit_id::text AND (j.args ->> 'batch')::integer = w.batch
        AND j.args ->> 'state' = w.status)
ORDER BY w.refit_id, w.batch LIMIT @limit_::integer;

-- name: RefitOrder :one
SELECT sqlc.embed(r), o.reference FROM refit_orders r JOIN orders o ON o.id = r.order_id
WHERE r.shop_id = @shop_id AND r.refit_id = @refit_id AND r.order_id = @order_id;

-- name: RefitsOfOrder :many
-- RefitsOfOrder lists what refits found for an order, newest first.
SELECT sqlc.embed(r), o.reference FROM refit_orders r JOIN orders o ON o.id = r.order_id
WHERE r.shop_id = @shop_id AND r.order_id = @order_id AND r.refit_id < @below::uuid
ORDER BY r.refit_id DESC LIMIT @limit_::integer;

-- name: ListRefitOrders :many
-- ListRefitOrders lists the orders of a refit, newest first.
SELECT sqlc.embed(r), o.reference FROM refit_orders r JOIN orders o ON o.id = r.order_id
WHERE r.shop_id = @shop_id AND r.refit_id = @refit_id AND r.order_id < @below::uuid
    AND (sqlc.narg('finding')::text IS NULL OR r.finding = sqlc.narg('finding')::text)
    AND (sqlc.narg('outcome')::text IS NULL OR r.outcome = sqlc.narg('outcome')::text)
ORDER BY r.order_id DESC LIMIT @limit_::integer;

-- name: MostMoved :many
-- MostMoved lists the orders of a refit that move most.
SELECT sqlc.embed(r), o.reference FROM refit_orders r JOIN orders o ON o.id = r.order_id
WHERE r.refit_id = @refit_id AND r.largest > 0 ORDER BY r.largest DESC, r.order_id LIMIT @limit_::integer;
