-- Webhooks: endpoints, and the messages sent to them (Standard Webhooks).

-- +goose Up
CREATE TABLE webhook_endpoints (
    id              uuid        PRIMARY KEY,
    shop_id         uuid        NOT NULL REFERENCES shops,
    url             text        NOT NULL CONSTRAINT webhook_endpoints_url CHECK (char_length(url) BETWEEN 1 AND 2000),
    description     text        NOT NULL DEFAULT '' CONSTRAINT webhook_endpoints_description CHECK (char_length(description) <= 500),
    events          text[]      NOT NULL CONSTRAINT webhook_endpoints_events CHECK (
        cardinality(events) >= 1 AND events <@ ARRAY[
            'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed']),
    -- Sealed, and at most two valid at once: see shops.inbound_secret.
    secret          bytea       NOT NULL,
    previous        bytea,
    previous_until  timestamptz,
    disabled_at     timestamptz,
    disabled_reason text,
    failures        integer     NOT NULL DEFAULT 0, -- attempts that failed since the last that was delivered
    failing_since   timestamptz,
    paused_until    timestamptz, -- no attempt is made before; set by a number of failures
    created_at      timestamptz NOT NULL,
    updated_at      timestamptz NOT NULL,
    deleted_at      timestamptz, -- its messages stay readable
    CONSTRAINT webhook_endpoints_of_shop UNIQUE (shop_id, id),
    CONSTRAINT webhook_endpoints_previous CHECK ((previous IS NULL) = (previous_until IS NULL)),
    CONSTRAINT webhook_endpoints_disabled CHECK ((disabled_at IS NULL) = (disabled_reason IS NULL)),
    CONSTRAINT webhook_endpoints_failing CHECK (failures >= 0 AND (failures = 0) = (failing_since IS NULL))
);
-- Endpoints that messages are queued for. One that its shop has disabled gets them when it is enabled again.
CREATE VIEW webhook_receivers AS
    SELECT id, shop_id, events FROM webhook_endpoints
    WHERE deleted_at IS NULL AND disabled_reason IS DISTINCT FROM 'gone';
CREATE INDEX webhook_endpoints_shop ON webhook_endpoints (shop_id, id DESC) WHERE deleted_at IS NULL;

-- One event for one endpoint. The ID, in the header webhook-id, stays the same however often the
-- message is sent: receivers tell repeats by it.
CREATE TABLE webhook_messages (
    id              uuid        PRIMARY KEY,
    shop_id         uuid        NOT NULL,
    endpoint_id     uuid        NOT NULL,
    type            text        NOT NULL CONSTRAINT webhook_messages_type CHECK (type <> ''),
    order_id        uuid        REFERENCES orders, -- NULL: a test message
    -- As signed and sent. Standard Webhooks asks for less than 20 kB.
    body            text        NOT NULL CONSTRAINT webhook_messages_body CHECK (octet_length(body) < 20000),
    status          text        NOT NULL DEFAULT 'pending' CONSTRAINT webhook_messages_status
                                CHECK (status IN ('pending', 'delivered', 'dead')),
    attempts        integer     NOT NULL DEFAULT 0, -- ever made
    tries           integer     NOT NULL DEFAULT 0, -- since it was made or replayed: its place in the retry schedule
    next_attempt_at timestamptz,
    claimed_until   timestamptz, -- a replica is sending it; past this time, that replica is gone
    created_at      timestamptz NOT NULL,
    settled_at      timestamptz, -- delivered, or given up
    FOREIGN KEY (shop_id, endpoint_id) REFERENCES webhook_endpoints (shop_id, id),
    CONSTRAINT webhook_messages_tries CHECK (tries BETWEEN 0 AND attempts),
    CONSTRAINT webhook_messages_settled CHECK (
        CASE WHEN status = 'pending'
            THEN settled_at IS NULL AND next_attempt_at IS NOT NULL
            ELSE settled_at IS NOT NULL AND next_attempt_at IS NULL AND claimed_until IS NULL
        END)
) WITH (fillfactor = 80); -- a claim writes no indexed column, and finds room on the row's page
CREATE INDEX webhook_messages_shop ON webhook_messages (shop_id, id DESC);
CREATE INDEX webhook_messages_shop_status ON webhook_messages (shop_id, status, id DESC);
CREATE INDEX webhook_messages_endpoint ON webhook_messages (endpoint_id, id DESC);
CREATE INDEX webhook_messages_order ON webhook_messages (order_id);
-- What is still owed, and what retention clears away.
CREATE INDEX webhook_messages_pending ON webhook_messages (endpoint_id, next_attempt_at) WHERE status = 'pending';
CREATE INDEX webhook_messages_old ON webhook_messages (settled_at) WHERE status <> 'pending';

-- What is sent must not change between tries.
-- +goose StatementBegin
CREATE FUNCTION guard_webhook_message() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a webhook message is written once'
        USING ERRCODE = 'check_violation', TABLE = 'webhook_messages', CONSTRAINT = 'webhook_messages_immutable';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER webhook_messages_immutable BEFORE UPDATE ON webhook_messages
    FOR EACH ROW WHEN ((NEW.id, NEW.shop_id, NEW.endpoint_id, NEW.type, NEW.body, NEW.created_at)
        IS DISTINCT FROM (OLD.id, OLD.shop_id, OLD.endpoint_id, OLD.type, OLD.body, OLD.created_at)) EXECUTE FUNCTION guard_webhook_message();

CREATE TABLE webhook_attempts (
    message_id  uuid        NOT NULL REFERENCES webhook_messages ON DELETE CASCADE,
    number      integer     NOT NULL CONSTRAINT webhook_attempts_number CHECK (number >= 1),
    outcome     text        NOT NULL CONSTRAINT webhook_attempts_outcome CHECK (outcome <> ''), -- such as delivered, timed_out
    http_status integer     CONSTRAINT webhook_attempts_http_status CHECK (http_status BETWEEN 0 AND 999), -- as received; NULL: no answer
    error       text        CONSTRAINT webhook_attempts_error CHECK (char_length(error) BETWEEN 1 AND 200), -- why there was no answer
    started_at  timestamptz NOT NULL,
    duration_ms integer     NOT NULL CONSTRAINT webhook_attempts_duration CHECK (duration_ms >= 0),
    PRIMARY KEY (message_id, number)
);

-- +goose Down
DROP TABLE webhook_attempts;
DROP TABLE webhook_messages;
DROP FUNCTION guard_webhook_message;
DROP VIEW webhook_receivers;
DROP TABLE webhook_endpoints;
