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

-- name: InsertRefit :exec
INSERT INTO refits (id, shop_id, status, change, scope, paper, reason, orders, created_by, created_at)
VALUES (@id, @shop_id, @status, @change, @scope, @paper, @reason, @orders, @created_by, @created_at);

-- name: ListRefitScope :many
-- ListRefitScope lists the orders that match, the oldest first. A filter that is
-- NULL matches all. blocks and styles must all be the order's. not_script matches
-- any other script of a style; not_alterations matches drafts with other
-- alterations or none. With refit_id it lists only orders that are not in the
-- refit.
SELECT o.id FROM orders o
WHERE o.shop_id = @shop_id AND o.status = ANY (@statuses::text[])
    AND (sqlc.narg('blocks')::text[] IS NULL OR o.block = ALL (sqlc.narg('blocks')::text[]))
    AND (sqlc.narg('styles')::text[] IS NULL OR o.style = ALL (sqlc.narg('styles')::text[]))
    AND (sqlc.narg('style_revision')::integer IS NULL
        OR (o.spec ->> 'style_revision')::integer = sqlc.narg('style_revision')::integer)
    AND (sqlc.narg('not_script')::bytea IS NULL OR o.style_hash <> sqlc.narg('not_script')::bytea)
    AND (sqlc.narg('fit')::text IS NULL OR o.spec ->> 'fit' = sqlc.narg('fit')::text)
    AND (sqlc.narg('customer_id')::uuid IS NULL OR o.customer_id = sqlc.narg('customer_id')::uuid)
    AND (sqlc.narg('set')::uuid IS NULL OR o.measurement_set_id = sqlc.narg('set')::uuid)
    AND (sqlc.narg('not_set')::uuid IS NULL OR o.measurement_set_id <> sqlc.narg('not_set')::uuid)
    AND (sqlc.narg('alterations')::uuid IS NULL OR sqlc.narg('alterations')::uuid = (
        SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision))
    AND (sqlc.narg('not_alterations')::uuid IS NULL OR sqlc.narg('not_alterations')::uuid IS DISTINCT FROM (
        SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision))
    AND (sqlc.narg('created_from')::timestamptz IS NULL OR o.created_at >= sqlc.narg('created_from')::timestamptz)
    AND (sqlc.narg('created_before')::timestamptz IS NULL OR o.created_at < sqlc.narg('created_before')::timestamptz)
    AND (sqlc.narg('ids')::uuid[] IS NULL OR o.id = ANY (sqlc.narg('ids')::uuid[]))
    AND (sqlc.narg('updated_from')::timestamptz IS NULL OR o.updated_at >= sqlc.narg('updated_from')::timestamptz)
    AND (sqlc.narg('refit_id')::uuid IS NULL OR NOT EXISTS (
        SELECT FROM refit_orders r WHERE r.refit_id = sqlc.narg('refit_id')::uuid AND r.order_id = o.id))
ORDER BY o.id LIMIT @limit_::integer;

-- name: InsertRefitOrders :exec
-- InsertRefitOrders adds orders to a refit, in batches of a size.
INSERT INTO refit_orders (refit_id, order_id, shop_id, batch)
SELECT @refit_id::uuid, u.id, @shop_id::uuid, (row_number() OVER (ORDER BY u.id) - 1) / @size::integer
FROM unnest(@ids::uuid[]) u (id);

-- name: AddLeftAlone :one
-- AddLeftAlone adds those of the orders to a refit that are not in it, with the
-- reason that it leaves them alone, and returns how many they are.
WITH added AS (
    INSERT INTO refit_orders (refit_id, order_id, shop_id, batch, finding, reason_code, previewed_at)
    SELECT @refit_id::uuid, o.id, o.shop_id, -1, 'left_alone', @reason_code::text, sqlc.arg('at')::timestamptz
    FROM orders o WHERE o.shop_id = @shop_id AND o.id = ANY (@ids::uuid[])
    ON CONFLICT DO NOTHING
    RETURNING order_id
)
UPDATE refits SET orders = orders + (SELECT count(*) FROM added)
WHERE id = sqlc.arg('refit_id')::uuid
RETURNING (SELECT count(*) FROM added)::integer AS added;

-- name: RefitFigures :many
-- RefitFigures counts a refit's orders in one pass, with rows of three kinds: in
-- total, with the distribution of the moves of compared orders in mm; by_move,
-- by the number of bounds that the largest move reaches, -1 for orders not
-- compared; and otherwise by finding and outcome, "" where it is not decided.
-- previews and settled count what was done since a time.
SELECT (grouping(r.finding, r.bucket) = 3)::boolean AS total, (grouping(r.finding, r.bucket) = 2)::boolean AS by_move,
    coalesce(r.finding, '')::text AS finding, coalesce(r.outcome, '')::text AS outcome, coalesce(r.bucket, -1)::integer AS bucket,
    count(*)::integer AS count, count(r.largest)::integer AS compared,
    (count(*) FILTER (WHERE r.previewed_at >= @since::timestamptz))::integer AS previews,
    (count(*) FILTER (WHERE r.settled_at >= sqlc.arg('since')::timestamptz
        AND r.finding = 'changes' AND r.outcome <> 'declined'))::integer AS settled,
    coalesce(percentile_cont(0.5) WITHIN GROUP (ORDER BY r.largest), 0)::float8 AS median,
    coalesce(percentile_cont(0.9) WITHIN GROUP (ORDER BY r.largest), 0)::float8 AS p90,
    coalesce(max(r.largest), 0)::float8 AS largest
FROM (
    SELECT x.finding, x.outcome, x.previewed_at, x.settled_at, x.largest, width_bucket(x.largest, @bounds::float8[]) AS bucket
    FROM refit_orders x WHERE x.refit_id = @refit_id
) r
GROUP BY GROUPING SETS ((r.finding, r.outcome), (r.bucket), ());

-- name: ListRefitInputs :many
-- ListRefitInputs reads what orders of a refit are drafted from, each with its
-- current draft and the alterations that this was made with. A filter that is NULL
-- matches all.
SELECT sqlc.embed(i), k.id AS basis_alterations,
    (i.measured_spec || jsonb_strip_nulls(jsonb_build_object('altered_unit', k.unit, 'alterations', k.given)))::jsonb AS basis,
    d.engine, d.hash, d.label, d.document, d.measurement_set_id AS drafted_set, d.spec AS drafted_spec,
    r.basis_revision, r.basis_request
FROM refit_orders r
JOIN draft_inputs i ON i.id = r.order_id
LEFT JOIN draft_revisions d ON d.order_id = i.id AND d.number = i.revision
LEFT JOIN alterations k ON k.id = d.alterations_id
WHERE r.refit_id = @refit_id
    AND (sqlc.narg('order_id')::uuid IS NULL OR r.order_id = sqlc.narg('order_id')::uuid)
    AND (sqlc.narg('batch')::integer IS NULL OR r.batch = sqlc.narg('batch')::integer)
    AND (sqlc.narg('finding')::text IS NULL OR r.finding = sqlc.narg('finding')::text)
    AND (sqlc.narg('outcome')::text IS NULL OR r.outcome = sqlc.narg('outcome')::text)
ORDER BY r.order_id;

-- name: RecordFindings :exec
-- RecordFindings writes the findings of orders that still wait for one. An order
-- whose customer was erased meanwhile gets no comparison. findings is an array of
-- objects with the names of the columns.
UPDATE refit_orders r SET finding = (f.v ->> 'finding'), basis_revision = (f.v ->> 'basis_revision')::integer,
    basis_request = (f.v ->> 'basis_request')::integer, reason_code = (f.v ->> 'reason_code'),
    faults = CASE WHEN r.erased_at IS NULL THEN nullif(f.v -> 'faults', 'null') END,
    comparison = CASE WHEN r.erased_at IS NULL THEN nullif(f.v -> 'comparison', 'null') END,
    largest = (f.v ->> 'largest')::float8, previewed_at = sqlc.arg('at')::timestamptz
FROM (SELECT jsonb_array_elements(@findings::jsonb) AS v) f
WHERE r.refit_id = @refit_id AND r.order_id = (f.v ->> 'order_id')::uuid AND r.finding = 'waiting';

-- name: RefitHasWaiting :one
-- RefitHasWaiting reports whether an order of a refit waits for its finding.
SELECT EXISTS (SELECT FROM refit_orders WHERE refit_id = @refit_id AND finding = 'waiting');

-- name: RefitHasChosen :one
-- RefitHasChosen reports whether a chosen order of a refit is still to be done.
SELECT EXISTS (SELECT FROM refit_orders WHERE refit_id = @refit_id AND outcome = 'chosen');

-- name: DecideRefit :exec
-- DecideRefit gives every order of a previewed refit its outcome. Those that
-- change are chosen if the decision is all, or some and their ID is given. It
-- conflicts with refit_orders_chosen while another refit is applying one of them.
UPDATE refit_orders SET
    outcome = CASE
        WHEN finding <> 'changes' THEN finding
        WHEN @decision::text = 'all' OR sqlc.arg('decision')::text = 'some' AND order_id = ANY (@ids::uuid[]) THEN 'chosen'
        ELSE 'declined' END,
    settled_at = CASE
        WHEN finding = 'changes' AND (sqlc.arg('decision')::text = 'all'
            OR sqlc.arg('decision')::text = 'some' AND order_id = ANY (sqlc.arg('ids')::uuid[])) THEN NULL
        ELSE sqlc.arg('at')::timestamptz END
WHERE refit_id = @refit_id AND outcome IS NULL;

-- name: ChosenBatches :many
-- ChosenBatches lists the batches of a refit with chosen orders.
SELECT batch, count(*)::integer AS orders FROM refit_orders
WHERE refit_id = @refit_id AND outcome = 'chosen' GROUP BY batch ORDER BY batch;

-- name: LockOrders :many
-- LockOrders locks orders until the transaction ends. last_refit is the refit
-- that the current draft was made for.
SELECT o.id, o.status, o.reason_code, coalesce(o.revision, 0)::integer AS revision, o.draft_request, o.progress,
    (SELECT d.refit_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision) AS last_refit
FROM orders o WHERE o.id = ANY (@ids::uuid[]) ORDER BY o.id FOR NO KEY UPDATE OF o;

-- name: SettleRefitOrders :batchexec
-- SettleRefitOrders writes the outcome of a chosen order that is given no draft.
UPDATE refit_orders SET outcome = @outcome::text, reason_code = sqlc.narg('reason_code')::text,
    faults = CASE WHEN erased_at IS NULL THEN sqlc.narg('faults')::jsonb END, settled_at = sqlc.arg('at')::timestamptz
WHERE refit_id = @refit_id AND order_id = @order_id;

-- name: ReviseOrders :batchone
-- ReviseOrders gives a chosen order its draft, as SettleDraft does. An order
-- without the status and draft request that the draft was made for gets nothing,
-- and is not found.
WITH revised AS (
    UPDATE orders o SET spec = sqlc.arg('spec')::jsonb, measurement_set_id = sqlc.arg('measurement_set_id')::uuid,
        revision = sqlc.arg('number')::integer, draft_request = o.draft_request + 1, updated_at = sqlc.arg('at')::timestamptz
    WHERE o.id = sqlc.arg('order_id')::uuid AND o.status = sqlc.arg('status')::text
        AND o.draft_request = sqlc.arg('request')::integer
    RETURNING o.id, o.shop_id
), drafted AS (
    INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, alterations_id, spec, engine, hash,
        document, checks, label, parent, refit_id, reason, created_by, created_at)
    SELECT revised.id, sqlc.arg('number')::integer, revised.shop_id, sqlc.arg('measurement_set_id')::uuid,
        sqlc.narg('alterations_id')::uuid, sqlc.arg('spec')::jsonb, sqlc.arg('engine')::text, sqlc.arg('hash')::bytea,
        sqlc.arg('document')::bytea, sqlc.arg('checks')::jsonb, sqlc.arg('label')::jsonb, sqlc.narg('parent')::integer,
        sqlc.arg('refit_id')::uuid, sqlc.arg('reason')::text, sqlc.narg('created_by')::uuid, sqlc.arg('at')::timestamptz
    FROM revised
), noted AS (
    INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason, actor, refit_id, at)
    SELECT revised.shop_id, revised.id, 'revised', sqlc.arg('status')::text, sqlc.arg('status')::text,
        sqlc.arg('number')::integer, sqlc.arg('reason')::text, sqlc.narg('created_by')::uuid,
        sqlc.arg('refit_id')::uuid, sqlc.arg('at')::timestamptz
    FROM revised
), settled AS (
    UPDATE refit_orders r SET outcome = 'revised', revision = sqlc.arg('number')::integer,
        settled_at = sqlc.arg('at')::timestamptz
    FROM revised WHERE r.refit_id = sqlc.arg('refit_id')::uuid AND r.order_id = revised.id
), queued AS (
    INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
    SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, sqlc.arg('message_type')::text, revised.id,
        sqlc.arg('message_body')::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
    FROM revised JOIN order_receivers e ON e.orders_of = revised.shop_id
    WHERE sqlc.arg('message_type')::text = ANY (e.events)
)
SELECT revised.id FROM revised;

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

-- name: SampleRefitOrders :many
-- SampleRefitOrders returns orders that change, at most a number of them: of parts of equal size, in the order
-- of how far they move, the one that moves most.
SELECT DISTINCT ON (s.part) s.order_id FROM (
    SELECT r.order_id, r.largest, ntile(@sample::integer) OVER (ORDER BY r.largest, r.order_id) AS part
    FROM refit_orders r WHERE r.refit_id = @refit_id AND r.finding = 'changes' AND r.erased_at IS NULL
) s ORDER BY s.part, s.largest DESC, s.order_id DESC;

-- name: DeleteRefitFittings :exec
DELETE FROM refit_fittings WHERE refit_id = @refit_id;

-- name: InsertRefitFittings :execrows
-- InsertRefitFittings lets orders of a refit wait to be tried on, except those that were erased. The orders must
-- be locked: an erasure locks them too, so it sees the fittings, or this sees the erasure.
INSERT INTO refit_fittings (refit_id, order_id, shop_id, level, cloth, state, created_at)
SELECT r.refit_id, r.order_id, r.shop_id, @level, sqlc.narg('cloth'), 'queued', sqlc.arg('at')::timestamptz
FROM refit_orders r WHERE r.refit_id = @refit_id AND r.order_id = ANY (@order_ids::uuid[]) AND r.erased_at IS NULL;

-- name: NextRefitFitting :one
-- NextRefitFitting returns an order of a refit that waits to be tried on.
SELECT order_id, level, cloth FROM refit_fittings
WHERE refit_id = @refit_id AND finished_at IS NULL ORDER BY order_id LIMIT 1;

-- name: RefitFittingWaits :one
-- RefitFittingWaits reports whether an order of a refit waits to be tried on.
SELECT EXISTS (SELECT FROM refit_fittings WHERE refit_id = @refit_id AND order_id = @order_id AND finished_at IS NULL);

-- name: FinishRefitFitting :exec
-- FinishRefitFitting ends a fitting that is not finished.
UPDATE refit_fittings SET state = @state, before = @before, after = @after, picture = @picture, reason = @reason,
    engine = @engine, finished_at = @at::timestamptz
WHERE refit_id = @refit_id AND order_id = @order_id AND finished_at IS NULL;

-- name: CancelRefitFittings :execrows
-- CancelRefitFittings cancels the fittings of a refit that are not finished.
UPDATE refit_fittings SET state = 'cancelled', finished_at = @at::timestamptz
WHERE refit_id = @refit_id AND finished_at IS NULL;

-- name: RefitFittings :many
-- RefitFittings returns what fittings of orders found, each for the refit at the same position, without pictures.
SELECT f.refit_id, f.order_id, f.level, f.cloth, f.state, f.before, f.after, f.reason, f.engine, f.finished_at
FROM refit_fittings f
WHERE (f.refit_id, f.order_id) IN (SELECT unnest(@refit_ids::uuid[]), unnest(@order_ids::uuid[]));

-- name: RefitFittingOrders :many
-- RefitFittingOrders lists the orders of a refit that are tried on.
SELECT sqlc.embed(r), o.reference
FROM refit_fittings f
JOIN refit_orders r ON r.refit_id = f.refit_id AND r.order_id = f.order_id
JOIN orders o ON o.id = f.order_id
WHERE f.refit_id = @refit_id ORDER BY f.order_id;

-- name: RefitFittingPicture :one
SELECT f.picture, f.state, o.reference FROM refit_fittings f JOIN orders o ON o.id = f.order_id
WHERE f.shop_id = @shop_id AND f.refit_id = @refit_id AND f.order_id = @order_id;

-- name: OrphanedRefitFittings :many
-- OrphanedRefitFittings lists refits with fittings that wait since before a time, without an unfinished job.
SELECT DISTINCT f.refit_id FROM refit_fittings f
WHERE f.finished_at IS NULL AND f.created_at < @before::timestamptz
    AND NOT EXISTS (
        SELECT FROM river_job j
        WHERE j.kind = @kind::text AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
            AND j.args ->> 'refit_id' = f.refit_id::text)
ORDER BY f.refit_id LIMIT @limit_::integer;
