-- name: UseScript :one
-- UseScript reports whether a script is stored, and records to the day that it
-- is used.
WITH used AS (
    UPDATE style_scripts u SET used_at = @at WHERE u.hash = @hash AND u.used_at < sqlc.arg('at')::timestamptz - interval '1 day'
)
SELECT EXISTS (SELECT FROM style_scripts s WHERE s.hash = @hash);

-- name: InsertScript :exec
-- InsertScript stores a script under its SHA-256, unless it is stored already.
INSERT INTO style_scripts (hash, script, used_at) VALUES (@hash, @script, @at)
ON CONFLICT (hash) DO UPDATE SET used_at = excluded.used_at
WHERE style_scripts.used_at < excluded.used_at - interval '1 day';

-- name: Script :one
SELECT script FROM style_scripts WHERE hash = @hash;

-- name: InsertStyleRevision :one
-- InsertStyleRevision stores the next revision, a draft, of the style with that
-- slug; a new style gets the ID style_id. The script must be stored. Counting on
-- the style's row makes concurrent uploads wait for each other.
WITH s AS (
    INSERT INTO styles (id, shop_id, slug, revisions, created_by, created_at)
    VALUES (@style_id, @shop_id, @slug, 1, @created_by, @created_at)
    ON CONFLICT (shop_id, slug) DO UPDATE SET revisions = styles.revisions + 1
    RETURNING id, shop_id, revisions
)
INSERT INTO style_revisions (style_id, number, shop_id, hash, head, warnings, reason, status, created_by, created_at)
SELECT id, revisions, shop_id, @hash, @head, @warnings, @reason, 'draft', @created_by, @created_at FROM s
RETURNING style_id, number;

-- name: StyleRevision :one
-- StyleRevision finds a revision by its style's slug. Number 0 is the latest
-- published one.
SELECT * FROM shop_style_revisions
WHERE shop_id = @shop_id AND slug = @slug
    AND CASE WHEN @number::integer = 0 THEN status = 'published' ELSE number = @number::integer END
ORDER BY number DESC LIMIT 1;

-- name: LockStyleRevision :one
-- LockStyleRevision locks a revision until the transaction ends.
SELECT r.number FROM style_revisions r JOIN styles s ON s.id = r.style_id
WHERE s.shop_id = @shop_id AND s.slug = @slug AND r.number = @number
FOR NO KEY UPDATE OF r;

-- name: SetStyleStatus :one
-- SetStyleStatus writes what may change of a revision. One whose status is no
-- longer from_status is not found. The caller checks which status may follow which.
UPDATE style_revisions SET status = @status, proof_id = @proof_id, published_at = @published_at, retired_at = @retired_at
WHERE style_id = @style_id AND number = @number AND status = @from_status
RETURNING number;

-- name: StyleRevisions :many
-- StyleRevisions lists the revisions of a shop's style, newest first.
SELECT * FROM shop_style_revisions WHERE shop_id = @shop_id AND slug = @slug ORDER BY number DESC;

-- name: CountStyleRevisions :one
-- CountStyleRevisions returns 0 if the shop has no such style.
SELECT coalesce(max(revisions), 0)::integer FROM styles WHERE shop_id = @shop_id AND slug = @slug;

-- name: StyleSlugs :many
SELECT slug FROM styles WHERE shop_id = @shop_id ORDER BY slug;

-- name: ShopStyles :many
-- ShopStyles lists a shop's own styles by slug, each with its latest published
-- revision, or its latest if none is published.
SELECT DISTINCT ON (r.slug) sqlc.embed(r), s.revisions
FROM styles s JOIN shop_style_revisions r ON r.style_id = s.id
WHERE s.shop_id = @shop_id ORDER BY r.slug, (r.status = 'published') DESC, r.number DESC;

-- name: InsertProof :exec
INSERT INTO style_proofs (id, shop_id, style_id, number, bodies, body_rows, worn, status, total, created_by, created_at)
VALUES (@id, @shop_id, @style_id, @number, @bodies, @body_rows, @worn, 'waiting', @total, @created_by, @created_at);

-- name: Proof :one
SELECT * FROM shop_style_proofs WHERE shop_id = @shop_id AND id = @id;

-- name: Proofs :many
-- Proofs lists the proofs of a revision, newest first.
SELECT * FROM shop_style_proofs WHERE style_id = @style_id AND number = @number ORDER BY id DESC LIMIT @limit_::integer;

-- name: LatestProof :one
-- LatestProof returns the latest proof of a revision whose drafts are not tried on.
SELECT * FROM shop_style_proofs WHERE style_id = @style_id AND number = @number AND worn IS NULL ORDER BY id DESC LIMIT 1;

-- name: ProofWork :one
-- ProofWork reads a proof with its bodies and tally.
SELECT sqlc.embed(v), p.body_rows, p.counted FROM shop_style_proofs v JOIN style_proofs p ON p.id = v.id WHERE v.id = @id;

-- name: LockShop :exec
-- LockShop makes other transactions that lock the shop wait for this one, so
-- that each sees what the others stored.
SELECT FROM shops WHERE id = @id FOR NO KEY UPDATE;

-- name: CountOpenProofs :one
SELECT count(*) FROM style_proofs WHERE shop_id = @shop_id AND finished_at IS NULL;

-- name: AdvanceProof :execrows
-- AdvanceProof stores the tally of a proof up to draft done. It changes nothing
-- if the proof is finished, or another run of it has got further.
UPDATE style_proofs
SET status = 'running', done = @done, counted = @counted, started_at = coalesce(started_at, @at::timestamptz)
WHERE id = @id AND done = @from_::integer AND finished_at IS NULL;

-- name: FinishProof :execrows
-- FinishProof ends a proof that is not finished, and deletes its bodies.
UPDATE style_proofs
SET status = @status, result = @result, finished_at = @at::timestamptz, body_rows = NULL, counted = NULL
WHERE id = @id AND finished_at IS NULL;

-- name: OrphanedProofs :many
-- OrphanedProofs lists unfinished proofs, created before a time, without an
-- unfinished job.
SELECT p.id, (p.worn IS NOT NULL)::boolean AS worn FROM style_proofs p
WHERE p.finished_at IS NULL AND p.created_at < @before::timestamptz
    AND NOT EXISTS (
        SELECT FROM river_job j
        WHERE j.kind = ANY (@kinds::text[]) AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
            AND j.args ->> 'proof_id' = p.id::text)
ORDER BY p.created_at LIMIT @limit_::integer;
