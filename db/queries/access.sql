-- name: InsertAPIKey :exec
-- InsertAPIKey conflicts with api_keys_prefix_key if the prefix is taken.
INSERT INTO api_keys (id, shop_id, name, role, test, origins, prefix, hash, created_by, created_at, expires_at)
VALUES (@id, @shop_id, @name, @role, @test, @origins, @prefix, @hash, @created_by, @created_at, @expires_at);

-- name: APIKeyByPrefix :one
-- APIKeyByPrefix finds a key, even if it is revoked or expired, and its shop's test
-- shop.
SELECT sqlc.embed(k), t.id AS test_shop
FROM api_keys k LEFT JOIN shops t ON t.test_of = k.shop_id WHERE k.prefix = @prefix;

-- name: OriginAllowed :one
-- OriginAllowed reports whether any publishable key that is valid at a time is for
-- pages of an origin.
SELECT EXISTS (
    SELECT FROM api_keys
    WHERE origins @> ARRAY[@origin::text] AND revoked_at IS NULL
        AND (expires_at IS NULL OR expires_at > @at::timestamptz));

-- name: ListAPIKeys :many
-- ListAPIKeys lists a shop's keys, newest first, revoked and expired ones too.
SELECT * FROM api_keys WHERE shop_id = @shop_id ORDER BY id DESC;

-- name: RevokeAPIKey :one
-- RevokeAPIKey ends a key. One revoked before keeps its time.
UPDATE api_keys SET revoked_at = coalesce(revoked_at, @at::timestamptz)
WHERE shop_id = @shop_id AND id = @id RETURNING revoked_at;

-- name: TouchAPIKey :exec
-- TouchAPIKey records that a key was used, at most once a minute, so that a
-- busy key costs no write for each request.
UPDATE api_keys SET last_used_at = @at::timestamptz
WHERE id = @id AND (last_used_at IS NULL OR last_used_at < sqlc.arg('at')::timestamptz - interval '1 minute');

-- name: AppendAudit :exec
INSERT INTO audit_entries (shop_id, actor, action, subject_type, subject_id, request_id, detail, at)
VALUES (@shop_id, @actor, @action, @subject_type, @subject_id, @request_id, @detail, @at);

-- name: ListAudit :many
-- ListAudit lists a shop's entries, newest first.
SELECT * FROM audit_entries
WHERE shop_id = @shop_id
    AND (sqlc.narg('before')::bigint IS NULL OR id < sqlc.narg('before'))
    AND (sqlc.narg('action')::text IS NULL OR action = sqlc.narg('action'))
    AND (sqlc.narg('subject_id')::uuid IS NULL OR subject_id = sqlc.narg('subject_id'))
ORDER BY id DESC LIMIT @limit_::integer;

-- name: AuditActions :many
-- AuditActions lists the actions that a shop's entries name. It looks each up in the
-- index and does not read every entry.
WITH RECURSIVE names AS (
    (SELECT a.action FROM audit_entries a WHERE a.shop_id = sqlc.arg('shop_id') ORDER BY a.action LIMIT 1)
    UNION ALL
    SELECT (
        SELECT a.action FROM audit_entries a WHERE a.shop_id = sqlc.arg('shop_id') AND a.action > names.action
        ORDER BY a.action LIMIT 1)
    FROM names WHERE names.action IS NOT NULL
)
SELECT names.action::text FROM names WHERE names.action IS NOT NULL;

-- name: InsertShop :exec
-- InsertShop conflicts with shops_slug_key if the slug is taken.
INSERT INTO shops (id, slug, name, link_key, created_at)
VALUES (@id, @slug, @name, @link_key, @created_at);

-- name: ShopBySlug :one
SELECT id, slug, name, retention_days, created_at FROM shops WHERE slug = @slug;

-- name: Shops :many
-- Shops lists all shops by slug, for the operator, without test shops.
SELECT id, slug, name, retention_days, created_at FROM shops WHERE test_of IS NULL ORDER BY slug;

-- name: EnsureTestShop :exec
-- EnsureTestShop makes a shop's test shop, unless there is one.
INSERT INTO shops (id, slug, name, link_key, retention_days, test_of, created_at)
SELECT @id, @slug, p.name, @link_key, @retention_days, p.id, @created_at FROM shops p WHERE p.id = @test_of
ON CONFLICT (test_of) DO NOTHING;

-- name: HasRecord :one
-- HasRecord reports whether an order or a customer of the shop has the ID.
SELECT (EXISTS (SELECT FROM orders o WHERE o.shop_id = @shop_id AND o.id = @id)
    OR EXISTS (SELECT FROM customers c WHERE c.shop_id = @shop_id AND c.id = @id))::boolean;

-- name: ShopSettings :one
SELECT time_zone, retention_days, fit_each_draft, hold_on_fitting FROM shops WHERE id = @id;

-- name: SetShopSettings :one
-- SetShopSettings sets a shop's time zone, for how many days after their last
-- order its customers are kept, where NULL keeps them, whether each draft is tried on,
-- and from which kind of finding on a fitting holds its order, where NULL is none.
UPDATE shops SET time_zone = @time_zone, retention_days = @retention_days, fit_each_draft = @fit_each_draft,
    hold_on_fitting = @hold_on_fitting
WHERE id = @id RETURNING id;

-- name: LinkKey :one
SELECT link_key FROM shops WHERE id = @id;

-- name: SealingKeys :many
-- SealingKeys lists, for each key that a stored secret is sealed with, the start
-- of such a secret: how it is sealed, and the ID of the key.
SELECT DISTINCT substring(s.sealed FROM 1 FOR 5)::bytea AS start FROM (
    SELECT link_key AS sealed FROM shops
    UNION ALL SELECT inbound_secret FROM shops
    UNION ALL SELECT inbound_previous FROM shops
    UNION ALL SELECT secret FROM webhook_endpoints
    UNION ALL SELECT previous FROM webhook_endpoints
) s WHERE s.sealed <> '' AND get_byte(s.sealed, 0) > 0;

-- name: InsertSession :exec
INSERT INTO sessions (id, key_id, hash, created_at, seen_at, expires_at)
VALUES (@id, @key_id, @hash, @created_at, sqlc.arg('created_at'), @expires_at);

-- name: SessionByHash :one
-- SessionByHash finds a session with its key and shop, even if it has ended.
SELECT sqlc.embed(s), sqlc.embed(k), p.name AS shop_name, t.id AS test_shop
FROM sessions s JOIN api_keys k ON k.id = s.key_id JOIN shops p ON p.id = k.shop_id
    LEFT JOIN shops t ON t.test_of = p.id
WHERE s.hash = @hash;

-- name: TouchSession :exec
-- TouchSession records that a session was used, at most once a minute.
UPDATE sessions SET seen_at = @at::timestamptz
WHERE id = @id AND seen_at < sqlc.arg('at')::timestamptz - interval '1 minute';

-- name: DeleteSession :exec
DELETE FROM sessions WHERE hash = @hash;

-- name: EndSession :one
-- EndSession ends one session of a shop.
DELETE FROM sessions s USING api_keys k
WHERE s.id = @id AND k.id = s.key_id AND k.shop_id = @shop_id RETURNING s.id;

-- name: ListSessions :many
-- ListSessions lists a shop's sessions that have not expired, the newest first.
SELECT s.id, s.key_id, k.name AS key_name, s.created_at, s.seen_at, s.expires_at
FROM sessions s JOIN api_keys k ON k.id = s.key_id
WHERE k.shop_id = @shop_id AND s.expires_at > @now AND k.revoked_at IS NULL ORDER BY s.id DESC;
