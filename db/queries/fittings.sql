-- name: InsertFitting :exec
INSERT INTO fittings (id, shop_id, order_id, revision, level, cures, cloth, state, created_by, created_at)
VALUES (@id, @shop_id, @order_id, @revision, @level, @cures, @cloth, 'queued', @created_by, @created_at);

-- name: CountOpenFittings :one
-- CountOpenFittings counts the unfinished fittings of a shop that somebody asked for.
SELECT count(*) FROM fittings WHERE shop_id = @shop_id AND finished_at IS NULL AND NOT automatic;

-- name: FittingsAhead :one
-- FittingsAhead counts the unfinished fittings of a fitting's shop that came before it.
SELECT count(*) FROM fittings f JOIN fittings o ON o.shop_id = f.shop_id
WHERE f.id = @id AND o.finished_at IS NULL AND o.id < f.id;

-- name: Fitting :one
-- Fitting reads a fitting without its picture.
SELECT id, shop_id, order_id, revision, level, cures, cloth, automatic, state, report, reason, engine, created_by, created_at, started_at,
    finished_at
FROM fittings WHERE shop_id = @shop_id AND id = @id;

-- name: Fittings :many
-- Fittings lists the fittings of orders without their pictures, newest first.
SELECT id, shop_id, order_id, revision, level, cures, cloth, automatic, state, report, reason, engine, created_by, created_at, started_at,
    finished_at
FROM fittings WHERE shop_id = @shop_id AND order_id = @order_id ORDER BY id DESC LIMIT @limit_::integer;

-- name: FittingPicture :one
SELECT f.picture, f.state, o.reference FROM fittings f JOIN orders o ON o.id = f.order_id
WHERE f.shop_id = @shop_id AND f.id = @id;

-- name: FittingWork :one
-- FittingWork reads what a fitting is to try on, by its ID alone, the shop that its shop is the test shop of, and whether
-- nobody needs it: one that nobody asked for, while the shop tries no drafts on or of a draft that is not handed out.
SELECT f.shop_id, s.test_of, f.order_id, f.revision, f.level, f.cures, f.cloth, f.state,
    (f.automatic AND (NOT w.fit_each_draft OR o.status = 'cancelled' OR o.revision IS DISTINCT FROM f.revision))::boolean AS needless
FROM fittings f JOIN shops s ON s.id = f.shop_id JOIN shops w ON w.id = coalesce(s.test_of, s.id)
    JOIN orders o ON o.id = f.order_id
WHERE f.id = @id;

-- name: StartFitting :execrows
-- StartFitting marks a fitting as running, unless it is finished or another one of
-- its shop runs. The shop must be locked.
UPDATE fittings f SET state = 'running', started_at = coalesce(f.started_at, @at::timestamptz)
WHERE f.id = @id AND f.finished_at IS NULL AND NOT EXISTS (
    SELECT FROM fittings o WHERE o.shop_id = f.shop_id AND o.state = 'running' AND o.id <> f.id);

-- name: RequeueFitting :exec
-- RequeueFitting lets a running fitting wait again.
UPDATE fittings SET state = 'queued' WHERE id = @id AND state = 'running';

-- name: FinishFitting :execrows
-- FinishFitting ends a fitting that is not finished.
UPDATE fittings
SET state = @state, report = @report, picture = @picture, reason = @reason, engine = @engine, finished_at = @at::timestamptz
WHERE id = @id AND finished_at IS NULL;

-- name: OrphanedFittings :many
-- OrphanedFittings lists unfinished fittings, created before a time, without an
-- unfinished job.
SELECT f.id FROM fittings f
WHERE f.finished_at IS NULL AND f.created_at < @before::timestamptz
    AND NOT EXISTS (
        SELECT FROM river_job j
        WHERE j.kind = @kind::text AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
            AND j.args ->> 'fitting_id' = f.id::text)
ORDER BY f.created_at LIMIT @limit_::integer;
