-- Messages out to the shop's systems and in from them (Standard Webhooks).

-- +goose Up
CREATE TABLE webhook_endpoints (
    id              uuid        PRIMARY KEY,
    shop_id         uuid        NOT NULL REFERENCES shops,
    url             text        NOT NULL CHECK (char_length(url) <= 2000),
    description     text        NOT NULL DEFAULT '' CHECK (char_length(description) <= 500),
    events          text[]      NOT NULL CONSTRAINT webhook_endpoints_events CHECK (
        cardinality(events) >= 1 AND events <@ ARRAY[
            'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed']),
    -- Sealed, and at most two valid at once: see shops.inbound_secret.
    secret          bytea       NOT NULL,
    previous        bytea,
    previous_until  timestamptz,
    disabled_at     timestamptz,
    disabled_reason text,
    created_at      timestamptz NOT NULL,
    updated_at      timestamptz NOT NULL,
    deleted_at      timestamptz, -- its messages stay readable
    CONSTRAINT webhook_endpoints_of_shop UNIQUE (shop_id, id),
    CONSTRAINT webhook_endpoints_previous CHECK ((previous IS NULL) = (previous_until IS NULL)),
    CONSTRAINT webhook_endpoints_disabled CHECK ((disabled_at IS NULL) = (disabled_reason IS NULL))
);
CREATE INDEX webhook_endpoints_shop ON webhook_endpoints (shop_id, id DESC) WHERE deleted_at IS NULL;

-- One event for one endpoint. The id is the webhook-id header and stays the same however often the
-- message is sent: receivers tell repeats by it.
CREATE TABLE webhook_messages (
    id              uuid        PRIMARY KEY,
    shop_id         uuid        NOT NULL,
    endpoint_id     uuid        NOT NULL,
    event           text        NOT NULL CHECK (event <> ''),
    order_id        uuid        REFERENCES orders, -- NULL: a test message
    body            text        NOT NULL CONSTRAINT webhook_messages_body CHECK (octet_length(body) < 20480), -- as signed
    state           text        NOT NULL CONSTRAINT webhook_messages_state
                                CHECK (state IN ('pending', 'delivered', 'dead')),
    attempts        integer     NOT NULL DEFAULT 0, -- ever made
    tries           integer     NOT NULL DEFAULT 0, -- made since created or replayed: its place in the retry schedule
    next_attempt_at timestamptz, -- when pending
    created_at      timestamptz NOT NULL,
    settled_at      timestamptz, -- when it was delivered or given up
    FOREIGN KEY (shop_id, endpoint_id) REFERENCES webhook_endpoints (shop_id, id),
    CONSTRAINT webhook_messages_settled CHECK (
        CASE WHEN state = 'pending'
            THEN settled_at IS NULL AND next_attempt_at IS NOT NULL
            ELSE settled_at IS NOT NULL AND next_attempt_at IS NULL
        END)
);
CREATE INDEX webhook_messages_shop ON webhook_messages (shop_id, id DESC);
CREATE INDEX webhook_messages_endpoint ON webhook_messages (endpoint_id, id DESC);
CREATE INDEX webhook_messages_order ON webhook_messages (order_id);
CREATE INDEX webhook_messages_pending ON webhook_messages (next_attempt_at) WHERE state = 'pending';
CREATE INDEX webhook_messages_settled ON webhook_messages (settled_at) WHERE state <> 'pending';

-- What is sent must not change between tries.
-- +goose StatementBegin
CREATE FUNCTION guard_webhook_message() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.id, NEW.shop_id, NEW.endpoint_id, NEW.event, NEW.body, NEW.created_at)
        IS DISTINCT FROM (OLD.id, OLD.shop_id, OLD.endpoint_id, OLD.event, OLD.body, OLD.created_at) THEN
        RAISE EXCEPTION 'a webhook message is written once'
            USING ERRCODE = 'check_violation', TABLE = 'webhook_messages', CONSTRAINT = 'webhook_messages_immutable';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER webhook_messages_immutable BEFORE UPDATE ON webhook_messages
    FOR EACH ROW EXECUTE FUNCTION guard_webhook_message();

CREATE TABLE webhook_attempts (
    message_id  uuid        NOT NULL REFERENCES webhook_messages ON DELETE CASCADE,
    number      integer     NOT NULL CHECK (number >= 1),
    outcome     text        NOT NULL CHECK (outcome <> ''),
    status      integer     CHECK (status BETWEEN 100 AND 599), -- NULL: no answer
    error       text        CHECK (char_length(error) <= 500),  -- never what the receiver wrote
    started_at  timestamptz NOT NULL,
    duration_ms integer     NOT NULL CHECK (duration_ms >= 0),
    PRIMARY KEY (message_id, number)
);

-- Messages taken in, so that one sent again gets the same order and no second one.
CREATE TABLE inbound_messages (
    shop_id     uuid        NOT NULL REFERENCES shops,
    message_id  text        NOT NULL CHECK (message_id <> '' AND char_length(message_id) <= 256),
    body_hash   bytea       NOT NULL CHECK (octet_length(body_hash) = 32),
    order_id    uuid        REFERENCES orders, -- NULL: it was refused
    received_at timestamptz NOT NULL,
    PRIMARY KEY (shop_id, message_id)
);
CREATE INDEX inbound_messages_received ON inbound_messages (received_at);

-- Answers to requests with an Idempotency-Key, replayed when the request comes again. There is no
-- 'in flight' row: that is an advisory lock held by the request's own transaction (see
-- db.LockIdempotencyKey), which a killed process cannot leave behind.
CREATE TABLE idempotency_keys (
    shop_id     uuid        NOT NULL REFERENCES shops,
    key         text        NOT NULL CHECK (key <> '' AND char_length(key) <= 255),
    operation   text        NOT NULL, -- the contract's name for what was asked
    body_hash   bytea       NOT NULL CHECK (octet_length(body_hash) = 32),
    status      integer     NOT NULL CHECK (status BETWEEN 200 AND 499), -- a fault of ours is never replayed
    headers     jsonb       NOT NULL,
    answer      bytea       NOT NULL,
    customer_id uuid        REFERENCES customers, -- whom the answer tells of: it goes when they are erased
    created_at  timestamptz NOT NULL,
    expires_at  timestamptz NOT NULL CHECK (expires_at > created_at),
    PRIMARY KEY (shop_id, key)
);
CREATE INDEX idempotency_keys_expiry ON idempotency_keys (expires_at);
CREATE INDEX idempotency_keys_customer ON idempotency_keys (customer_id) WHERE customer_id IS NOT NULL;

-- +goose Down
DROP TABLE idempotency_keys;
DROP TABLE inbound_messages;
DROP TABLE webhook_attempts;
DROP TABLE webhook_messages;
DROP FUNCTION guard_webhook_message;
DROP TABLE webhook_endpoints;
