-- name: InsertEndpoint :exec
INSERT INTO webhook_endpoints (id, shop_id, url, description, events, secret, listens_until, created_at, updated_at)
VALUES (@id, @shop_id, @url, @description, @events, @secret, @listens_until, sqlc.arg('at'), sqlc.arg('at'));

-- name: Endpoint :one
SELECT * FROM webhook_endpoints WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL;

-- name: EndpointForUpdate :one
SELECT * FROM webhook_endpoints WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL FOR NO KEY UPDATE;

-- name: Endpoints :many
-- Endpoints lists a shop's endpoints, newest first, without listeners. A shop has few.
SELECT * FROM webhook_endpoints
WHERE shop_id = @shop_id AND deleted_at IS NULL AND listens_until IS NULL ORDER BY id DESC;

-- name: CountListeners :one
-- CountListeners counts a shop's listeners that live at a time.
SELECT count(*) FROM webhook_endpoints
WHERE shop_id = @shop_id AND deleted_at IS NULL AND listens_until > @at::timestamptz;

-- name: ExtendListener :one
-- ExtendListener lets a listener live until a time. One that is over is not found.
UPDATE webhook_endpoints SET listens_until = @until::timestamptz
WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL AND listens_until > @at::timestamptz RETURNING id;

-- name: ClaimForListener :many
-- ClaimForListener claims a listener's due messages with what is needed to sign them,
-- in their order. The first attempts at the messages of an order are made one after
-- the other.
WITH due AS (
    SELECT p.id FROM webhook_messages p
    WHERE p.endpoint_id = @endpoint_id AND p.status = 'pending' AND p.next_attempt_at <= @at::timestamptz
        AND (p.claimed_until IS NULL OR p.claimed_until <= sqlc.arg('at')::timestamptz)
        AND NOT EXISTS (SELECT FROM webhook_messages f
            WHERE f.order_id = p.order_id AND f.endpoint_id = p.endpoint_id AND f.created_at < p.created_at
                AND f.status = 'pending' AND f.tries = 0)
    ORDER BY p.created_at LIMIT @limit_::integer FOR NO KEY UPDATE OF p SKIP LOCKED
)
UPDATE webhook_messages m SET claimed_until = @claimed_until::timestamptz
FROM due, webhook_endpoints e
WHERE m.id = due.id AND e.id = m.endpoint_id
RETURNING m.id, m.endpoint_id, m.body, m.attempts, m.created_at, e.secret, e.previous, e.previous_until;

-- name: DeleteListeners :execrows
-- DeleteListeners takes listeners out of use that have not fetched since before a
-- time, and gives up their messages.
WITH over AS (
    UPDATE webhook_endpoints SET deleted_at = now(), secret = '', previous = NULL, previous_until = NULL
    WHERE id IN (
        SELECT e.id FROM webhook_endpoints e WHERE e.deleted_at IS NULL AND e.listens_until < @before::timestamptz
        ORDER BY e.listens_until LIMIT @limit_::integer)
    RETURNING id
), dead AS (
    UPDATE webhook_messages SET status = 'dead', settled_at = now(), next_attempt_at = NULL, claimed_until = NULL
    WHERE endpoint_id IN (SELECT over.id FROM over) AND status = 'pending'
)
SELECT over.id FROM over;

-- name: UpdateEndpoint :exec
-- UpdateEndpoint writes all of an endpoint except its secrets, and ends its
-- pause.
UPDATE webhook_endpoints SET url = @url, description = @description, events = @events,
    failures = 0, failing_since = NULL, paused_until = NULL,
    disabled_at = @disabled_at, disabled_reason = @disabled_reason, updated_at = @updated_at
WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL;

-- name: EndpointFailed :exec
-- EndpointFailed counts a failed attempt. Five in a row over at least 30 s pause
-- the endpoint for half the time that it has failed, at most 15 min.
UPDATE webhook_endpoints SET failures = failures + 1, failing_since = coalesce(failing_since, sqlc.arg('at')::timestamptz),
    paused_until = CASE WHEN failures >= 4 AND failing_since <= sqlc.arg('at')::timestamptz - interval '30 seconds'
        THEN sqlc.arg('at')::timestamptz + least(interval '15 minutes', (sqlc.arg('at')::timestamptz - failing_since) / 2)
    END
WHERE id = @id AND deleted_at IS NULL;

-- name: EndpointRecovered :exec
-- EndpointRecovered ends the pause of an endpoint.
UPDATE webhook_endpoints SET failures = 0, failing_since = NULL, paused_until = NULL
WHERE id = @id AND failures > 0;

-- name: DisableEndpoint :exec
-- DisableEndpoint stops messages to an endpoint and gives up those pending. One
-- disabled before keeps its reason.
WITH dead AS (
    UPDATE webhook_messages SET status = 'dead', settled_at = sqlc.arg('at')::timestamptz, next_attempt_at = NULL,
        claimed_until = NULL
    WHERE webhook_messages.shop_id = sqlc.arg('shop_id') AND endpoint_id = sqlc.arg('id') AND webhook_messages.status = 'pending'
)
UPDATE webhook_endpoints SET disabled_reason = coalesce(disabled_reason, @reason),
    disabled_at = coalesce(disabled_at, sqlc.arg('at')), updated_at = sqlc.arg('at')
WHERE webhook_endpoints.shop_id = sqlc.arg('shop_id') AND webhook_endpoints.id = sqlc.arg('id') AND deleted_at IS NULL;

-- name: DeleteEndpoint :one
-- DeleteEndpoint takes an endpoint out of use, forgets its secrets and gives up
-- its pending messages, which stay readable.
WITH dead AS (
    UPDATE webhook_messages SET status = 'dead', settled_at = sqlc.arg('at')::timestamptz, next_attempt_at = NULL,
        claimed_until = NULL
    WHERE webhook_messages.shop_id = sqlc.arg('shop_id') AND endpoint_id = sqlc.arg('id') AND webhook_messages.status = 'pending'
)
UPDATE webhook_endpoints SET deleted_at = sqlc.arg('at')::timestamptz, updated_at = sqlc.arg('at')::timestamptz,
    secret = '', previous = NULL, previous_until = NULL
WHERE webhook_endpoints.shop_id = sqlc.arg('shop_id') AND webhook_endpoints.id = sqlc.arg('id') AND deleted_at IS NULL
RETURNING webhook_endpoints.id;

-- name: RotateEndpointSecret :one
-- RotateEndpointSecret makes secret the current one. The former is valid until
-- a time, the one before that no longer.
UPDATE webhook_endpoints SET previous = secret, previous_until = @previous_until::timestamptz, secret = @secret, updated_at = @at
WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL RETURNING *;

-- name: QueueMessages :exec
-- QueueMessages adds a message for each endpoint of the shop that is subscribed
-- to the type. One that a shop has disabled gets its messages later; one that
-- is gone gets none.
INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, sqlc.arg('type')::text, sqlc.narg('order_id')::uuid, @body::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
FROM order_receivers e
WHERE e.orders_of = @shop_id AND sqlc.arg('type')::text = ANY (e.events);

-- name: QueueMessageTo :one
-- QueueMessageTo adds a message for one endpoint, whatever it is subscribed to.
-- A disabled endpoint is not found.
INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, body, next_attempt_at, created_at)
SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, @type::text, @body::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
FROM webhook_endpoints e
WHERE e.shop_id = @shop_id AND e.id = @endpoint_id AND e.deleted_at IS NULL AND e.disabled_at IS NULL
RETURNING *;

-- name: Message :one
SELECT * FROM webhook_messages WHERE shop_id = @shop_id AND id = @id;

-- name: ListMessages :many
-- ListMessages lists a shop's messages, newest first.
SELECT * FROM webhook_messages
WHERE shop_id = @shop_id AND id < @below
    AND (sqlc.narg('type')::text IS NULL OR type = sqlc.narg('type'))
    AND (sqlc.narg('status')::text IS NULL OR status = sqlc.narg('status'))
    AND (sqlc.narg('endpoint_id')::uuid IS NULL OR endpoint_id = sqlc.narg('endpoint_id'))
    AND (sqlc.narg('order_id')::uuid IS NULL OR order_id = sqlc.narg('order_id'))
ORDER BY id DESC LIMIT @limit_::integer;

-- name: ClaimMessages :many
-- ClaimMessages claims due messages with what is needed to send them: at most
-- each for an endpoint, one for an endpoint that was paused, and per_shop for a
-- shop, in turns of the shops. The first attempts at the messages of an order
-- to an endpoint are made one after the other, in their order.
WITH RECURSIVE waiting AS ( -- endpoints with pending messages, each found by one look into the index
    (SELECT m.endpoint_id AS id FROM webhook_messages m WHERE m.status = 'pending' ORDER BY m.endpoint_id LIMIT 1)
    UNION ALL
    SELECT (SELECT m.endpoint_id FROM webhook_messages m WHERE m.status = 'pending' AND m.endpoint_id > w.id
        ORDER BY m.endpoint_id LIMIT 1)
    FROM waiting w WHERE w.id IS NOT NULL
), due AS (
    SELECT m.id, row_number() OVER (PARTITION BY e.shop_id ORDER BY m.next_attempt_at) AS turn
    FROM waiting w JOIN webhook_endpoints e ON e.id = w.id
    CROSS JOIN LATERAL (
        SELECT p.id, p.next_attempt_at FROM webhook_messages p
        WHERE p.endpoint_id = e.id AND p.status = 'pending' AND p.next_attempt_at <= sqlc.arg('at')::timestamptz
            AND (p.claimed_until IS NULL OR p.claimed_until <= sqlc.arg('at')::timestamptz)
            AND NOT EXISTS (SELECT FROM webhook_messages f
                WHERE f.order_id = p.order_id AND f.endpoint_id = p.endpoint_id AND f.created_at < p.created_at
                    AND f.status = 'pending' AND f.tries = 0)
        ORDER BY p.next_attempt_at LIMIT CASE WHEN e.paused_until IS NULL THEN @each::integer ELSE 1 END
        FOR NO KEY UPDATE OF p SKIP LOCKED) m
    WHERE e.disabled_at IS NULL AND e.deleted_at IS NULL AND e.listens_until IS NULL
        AND (e.paused_until IS NULL OR e.paused_until <= sqlc.arg('at')::timestamptz)
        AND e.id <> ALL (coalesce(@busy_endpoints::uuid[], '{}'))
        AND e.shop_id <> ALL (coalesce(@busy_shops::uuid[], '{}'))
), chosen AS (
    SELECT due.id FROM due WHERE due.turn <= @per_shop::integer ORDER BY due.turn LIMIT @limit_::integer
)
UPDATE webhook_messages m SET claimed_until = @claimed_until::timestamptz
FROM chosen, webhook_endpoints e
WHERE m.id = chosen.id AND e.id = m.endpoint_id
RETURNING m.id, m.shop_id, m.endpoint_id, m.body, m.attempts, m.tries, m.created_at,
    e.url, e.secret, e.previous, e.previous_until, e.failures;

-- name: ReleaseMessages :exec
-- ReleaseMessages ends the claims to messages that were not sent.
UPDATE webhook_messages SET claimed_until = NULL WHERE id = ANY (@ids::uuid[]) AND status = 'pending';

-- name: RecordAttempt :execrows
-- RecordAttempt stores an attempt and the status in which it leaves the message.
-- The number must follow the message's attempts: nothing is written if another
-- worker recorded an attempt meanwhile.
WITH moved AS (
    UPDATE webhook_messages SET attempts = attempts + 1, tries = tries + 1, status = @status,
        next_attempt_at = @next_attempt_at, claimed_until = NULL, settled_at = @settled_at
    WHERE id = @message_id AND attempts = sqlc.arg('number')::integer - 1 AND webhook_messages.status = 'pending'
    RETURNING id
)
INSERT INTO webhook_attempts (message_id, number, outcome, http_status, error, started_at, duration_ms)
SELECT moved.id, sqlc.arg('number')::integer, @outcome::text, sqlc.narg('http_status')::integer,
    sqlc.narg('error')::text, @started_at::timestamptz, @duration_ms::integer
FROM moved;

-- name: GiveUpMessages :execrows
-- GiveUpMessages makes messages dead that have waited since before a time for
-- an endpoint that is disabled.
WITH stale AS (
    SELECT m.id FROM webhook_endpoints e JOIN webhook_messages m ON m.endpoint_id = e.id AND m.status = 'pending'
    WHERE e.disabled_at IS NOT NULL AND m.created_at < @before::timestamptz
    LIMIT @limit_::integer
)
UPDATE webhook_messages m SET status = 'dead', settled_at = @at::timestamptz, next_attempt_at = NULL,
    claimed_until = NULL
FROM stale WHERE m.id = stale.id;

-- name: ListAttempts :many
-- ListAttempts lists the latest attempts at a message, newest first.
SELECT a.* FROM webhook_attempts a JOIN webhook_messages m ON m.id = a.message_id
WHERE m.shop_id = @shop_id AND m.id = @message_id ORDER BY a.number DESC LIMIT @limit_::integer;

-- name: ReplayMessage :one
-- ReplayMessage makes a settled message pending again at the start of its
-- schedule. One still pending is not found.
UPDATE webhook_messages SET status = 'pending', tries = 0, next_attempt_at = @at::timestamptz, settled_at = NULL
WHERE shop_id = @shop_id AND id = @id AND status <> 'pending' RETURNING *;

-- name: OwedMessages :one
-- OwedMessages counts messages still to be delivered to enabled endpoints, with
-- the time of the oldest, and the endpoints that are paused.
SELECT count(*) AS count, coalesce(min(m.created_at), 'epoch')::timestamptz AS oldest,
    (SELECT count(*) FROM webhook_endpoints p
        WHERE p.paused_until > @at::timestamptz AND p.disabled_at IS NULL AND p.deleted_at IS NULL) AS paused
FROM webhook_messages m JOIN webhook_endpoints e ON e.id = m.endpoint_id
WHERE m.status = 'pending' AND e.disabled_at IS NULL AND e.listens_until IS NULL;

-- name: InboundSecrets :one
-- InboundSecrets finds no shop that takes no inbound messages.
SELECT inbound_secret, inbound_previous, inbound_previous_until
FROM shops WHERE id = @id AND inbound_secret IS NOT NULL;

-- name: RotateInboundSecret :one
-- RotateInboundSecret makes secret the current one. The former, if there was
-- one, is valid until a time, the one before that no longer.
UPDATE shops SET inbound_previous = inbound_secret,
    inbound_previous_until = CASE WHEN inbound_secret IS NOT NULL THEN @previous_until::timestamptz END,
    inbound_secret = @secret
WHERE id = @id RETURNING inbound_secret, inbound_previous, inbound_previous_until;

-- name: RemoveInboundSecrets :one
-- RemoveInboundSecrets stops the taking of inbound messages.
UPDATE shops SET inbound_secret = NULL, inbound_previous = NULL, inbound_previous_until = NULL
WHERE id = @id RETURNING id;
