-- name: InsertEndpoint :exec
INSERT INTO webhook_endpoints (id, shop_id, url, description, events, secret, created_at, updated_at)
VALUES (@id, @shop_id, @url, @description, @events, @secret, sqlc.arg('at'), sqlc.arg('at'));

-- name: Endpoint :one
SELECT * FROM webhook_endpoints WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL;

-- name: EndpointForUpdate :one
SELECT * FROM webhook_endpoints WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL FOR NO KEY UPDATE;

-- name: Endpoints :many
-- Endpoints lists a shop's endpoints, newest first. A shop has few.
SELECT * FROM webhook_endpoints WHERE shop_id = @shop_id AND deleted_at IS NULL ORDER BY id DESC;

-- name: UpdateEndpoint :exec
-- UpdateEndpoint writes all of an endpoint except its secrets.
UPDATE webhook_endpoints SET url = @url, description = @description, events = @events,
    disabled_at = @disabled_at, disabled_reason = @disabled_reason, updated_at = @updated_at
WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL;

-- name: DisableEndpoint :exec
-- DisableEndpoint stops messages to an endpoint. One disabled before keeps its
-- reason.
UPDATE webhook_endpoints SET disabled_reason = coalesce(disabled_reason, @reason),
    disabled_at = coalesce(disabled_at, sqlc.arg('at')), updated_at = sqlc.arg('at')
WHERE shop_id = @shop_id AND id = @id AND deleted_at IS NULL;

-- name: DeleteEndpoint :one
-- DeleteEndpoint takes an endpoint out of use, forgets its secrets and gives up
-- its pending messages, which stay readable.
WITH dead AS (
    UPDATE webhook_messages SET status = 'dead', settled_at = sqlc.arg('at')::timestamptz, next_attempt_at = NULL
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

-- name: QueueMessages :many
-- QueueMessages adds a message for each endpoint of the shop that is subscribed
-- to the type and not disabled, and returns their IDs.
INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, sqlc.arg('type')::text, sqlc.narg('order_id')::uuid, @body::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
FROM webhook_endpoints e
WHERE e.shop_id = @shop_id AND e.deleted_at IS NULL AND e.disabled_at IS NULL AND sqlc.arg('type')::text = ANY (e.events)
RETURNING id;

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

-- name: Delivery :one
-- Delivery reads a message with what is needed to send it.
SELECT sqlc.embed(m), e.url, (e.disabled_at IS NOT NULL OR e.deleted_at IS NOT NULL)::boolean AS disabled,
    e.secret, e.previous, e.previous_until
FROM webhook_messages m JOIN webhook_endpoints e ON e.id = m.endpoint_id
WHERE m.id = @id;

-- name: RecordAttempt :execrows
-- RecordAttempt stores an attempt and the status in which it leaves the message.
-- The number must follow the message's attempts: nothing is written if another
-- worker recorded an attempt meanwhile.
WITH moved AS (
    UPDATE webhook_messages SET attempts = attempts + 1, tries = tries + 1, status = @status,
        next_attempt_at = @next_attempt_at, settled_at = @settled_at
    WHERE id = @message_id AND attempts = sqlc.arg('number')::integer - 1 AND webhook_messages.status = 'pending'
    RETURNING id
)
INSERT INTO webhook_attempts (message_id, number, outcome, http_status, started_at, duration_ms)
SELECT moved.id, sqlc.arg('number')::integer, @outcome::text, sqlc.narg('http_status')::integer, @started_at::timestamptz, @duration_ms::integer
FROM moved;

-- name: GiveUpMessage :exec
-- GiveUpMessage makes a pending message dead without an attempt.
UPDATE webhook_messages SET status = 'dead', settled_at = @at::timestamptz, next_attempt_at = NULL
WHERE id = @id AND status = 'pending';

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
-- OwedMessages counts messages still to be delivered, with the time of the
-- oldest.
SELECT count(*) AS count, coalesce(min(created_at), 'epoch')::timestamptz AS oldest
FROM webhook_messages WHERE status = 'pending';

-- name: OrphanedMessages :many
-- OrphanedMessages lists pending messages that were due before a time and have
-- no unfinished job of a kind.
WITH due AS MATERIALIZED (
    SELECT m.id, m.next_attempt_at FROM webhook_messages m
    WHERE m.status = 'pending' AND m.next_attempt_at < @before::timestamptz
)
SELECT due.id FROM due
WHERE NOT EXISTS (
    SELECT FROM river_job j
    WHERE j.kind = @kind AND j.state IN ('available', 'scheduled', 'retryable', 'running', 'pending')
        AND j.args ->> 'message_id' = due.id::text)
ORDER BY due.next_attempt_at LIMIT @limit_::integer;

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
