-- name: LockOrder :one
-- LockOrder locks an order until the transaction ends, so that its status, and
-- what is counted of it, stay true.
SELECT status FROM orders WHERE shop_id = @shop_id AND id = @id FOR NO KEY UPDATE;

-- name: CountLinks :one
SELECT count(*) FROM download_links WHERE shop_id = @shop_id AND order_id = @order_id;

-- name: InsertLink :exec
INSERT INTO download_links (id, shop_id, order_id, revision, format, options, max_uses, created_by, created_at, expires_at)
VALUES (@id, @shop_id, @order_id, @revision, @format, @options, @max_uses, @created_by, @created_at, @expires_at);

-- name: ListLinks :many
-- ListLinks lists an order's links, newest first.
SELECT * FROM download_links WHERE shop_id = @shop_id AND order_id = @order_id ORDER BY id DESC;

-- name: FollowedLink :one
-- FollowedLink reads, by the link's ID alone, all that its use is checked against,
-- and what its page says.
SELECT sqlc.embed(l), s.link_key, s.name AS shop_name, o.reference, coalesce(o.style, o.block)::text AS garment, o.status,
    d.hash, d.label, (d.erased_at IS NOT NULL)::boolean AS erased
FROM download_links l
JOIN shops s ON s.id = l.shop_id
JOIN orders o ON o.id = l.order_id
JOIN draft_revisions d ON d.order_id = l.order_id AND d.number = l.revision
WHERE l.id = @id;

-- name: UseLink :one
-- UseLink counts a use. It finds no link that is used up, expired or revoked. Of
-- uses at the same moment, as many get through as are left.
UPDATE download_links SET uses = uses + 1
WHERE id = @id AND uses < max_uses AND expires_at > @at::timestamptz AND revoked_at IS NULL
RETURNING uses;

-- name: RevokeLink :one
-- RevokeLink ends a link. One revoked before keeps its time.
UPDATE download_links SET revoked_at = coalesce(revoked_at, @at::timestamptz)
WHERE shop_id = @shop_id AND order_id = @order_id AND id = @id RETURNING revoked_at;

-- name: InsertQuestion :exec
INSERT INTO questions (id, shop_id, order_id, measurement_set_id, created_by, created_at, expires_at)
VALUES (@id, @shop_id, @order_id, @measurement_set_id, @created_by, @created_at, @expires_at);

-- name: AskedQuestion :one
-- AskedQuestion reads, by the question's ID alone, all that its answer is checked
-- against.
SELECT sqlc.embed(q), s.link_key, s.name AS shop_name
FROM questions q JOIN shops s ON s.id = q.shop_id
WHERE q.id = @id;

-- name: AnswerQuestion :one
-- AnswerQuestion marks a question as answered. It finds none that was answered
-- before or has expired.
UPDATE questions SET answered_at = @at::timestamptz
WHERE id = @id AND answered_at IS NULL AND expires_at > sqlc.arg('at')::timestamptz
RETURNING id;
