-- Messages out to the shop's systems and in from them (Standard Webhooks), and
-- answers kept for repeated requests.

-- +goose Up

-- UUID version 7 (RFC 9562 section 5.7): 48 bits of milliseconds, then random. Only for messages,
-- whose number is known here alone: one for each endpoint that listens.
-- +goose StatementBegin
CREATE FUNCTION uuid_v7(at timestamptz) RETURNS uuid LANGUAGE sql VOLATILE PARALLEL SAFE AS $$
    SELECT encode(
        set_bit(set_bit(
            overlay(uuid_send(gen_random_uuid())
                PLACING substring(int8send(floor(extract(epoch FROM at) * 1000)::bigint) FROM 3) FROM 1 FOR 6),
            52, 1), 53, 1), -- version 4 (0100) becomes 7 (0111)
        'hex')::uuid
$$;
-- +goose StatementEnd

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
    created_at      timestamptz NOT NULL,
    updated_at      timestamptz NOT NULL,
    deleted_at      timestamptz, -- its messages stay readable
    CONSTRAINT webhook_endpoints_of_shop UNIQUE (shop_id, id),
    CONSTRAINT webhook_endpoints_previous CHECK ((previous IS NULL) = (previous_until IS NULL)),
    CONSTRAINT webhook_endpoints_disabled CHECK ((disabled_at IS NULL) = (disabled_reason IS NULL))
);

-- One event for one endpoint. The id, as the webhook-id header, stays the same however often the
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
    created_at      timestamptz NOT NULL,
    settled_at      timestamptz, -- delivered, or given up
    FOREIGN KEY (shop_id, endpoint_id) REFERENCES webhook_endpoints (shop_id, id),
    CONSTRAINT webhook_messages_tries CHECK (tries BETWEEN 0 AND attempts),
    CONSTRAINT webhook_messages_settled CHECK (
        CASE WHEN status = 'pending'
            THEN settled_at IS NULL AND next_attempt_at IS NOT NULL
            ELSE settled_at IS NOT NULL AND next_attempt_at IS NULL
        END)
);
CREATE INDEX webhook_messages_shop ON webhook_messages (shop_id, id DESC);
CREATE INDEX webhook_messages_order ON webhook_messages (order_id);
-- What is still owed, and what retention clears away.
CREATE INDEX webhook_messages_pending ON webhook_messages (next_attempt_at) WHERE status = 'pending';
CREATE INDEX webhook_messages_old ON webhook_messages (settled_at) WHERE status <> 'pending';

-- What is sent must not change between tries.
-- +goose StatementBegin
CREATE FUNCTION guard_webhook_message() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.id, NEW.shop_id, NEW.endpoint_id, NEW.type, NEW.body, NEW.created_at)
        IS DISTINCT FROM (OLD.id, OLD.shop_id, OLD.endpoint_id, OLD.type, OLD.body, OLD.created_at) THEN
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
    number      integer     NOT NULL CONSTRAINT webhook_attempts_number CHECK (number >= 1),
    outcome     text        NOT NULL CONSTRAINT webhook_attempts_outcome CHECK (outcome <> ''), -- such as delivered, timed_out
    http_status integer     CONSTRAINT webhook_attempts_http_status CHECK (http_status BETWEEN 100 AND 999), -- NULL: no answer
    started_at  timestamptz NOT NULL,
    duration_ms integer     NOT NULL CONSTRAINT webhook_attempts_duration CHECK (duration_ms >= 0),
    PRIMARY KEY (message_id, number)
);

-- Messages taken in, so that one sent again gets the same order and no second one.
CREATE TABLE inbound_messages (
    shop_id     uuid        NOT NULL REFERENCES shops,
    message_id  text        NOT NULL CONSTRAINT inbound_messages_id CHECK (char_length(message_id) BETWEEN 1 AND 200),
    body_hash   bytea       NOT NULL CONSTRAINT inbound_messages_hash CHECK (octet_length(body_hash) = 32),
    order_id    uuid        NOT NULL REFERENCES orders,
    received_at timestamptz NOT NULL,
    PRIMARY KEY (shop_id, message_id)
);
CREATE INDEX inbound_messages_received ON inbound_messages (received_at);

-- Answers to requests with an Idempotency-Key, given again when the request comes again. There is
-- no 'in flight' row: that is an advisory lock held by the request's own transaction (see
-- db.ClaimKey), which a killed process cannot leave behind.
CREATE TABLE idempotency_keys (
    shop_id     uuid        NOT NULL REFERENCES shops,
    key         text        NOT NULL CONSTRAINT idempotency_keys_key CHECK (char_length(key) BETWEEN 1 AND 255),
    fingerprint bytea       NOT NULL CONSTRAINT idempotency_keys_fingerprint CHECK (octet_length(fingerprint) = 32),
    -- A fault of ours is never kept: the next try may do better.
    status      integer     NOT NULL CONSTRAINT idempotency_keys_status CHECK (status BETWEEN 200 AND 499),
    answer      bytea       NOT NULL,
    customer_id uuid        REFERENCES customers, -- whom the answer tells of: it goes when they are erased
    created_at  timestamptz NOT NULL,
    PRIMARY KEY (shop_id, key)
);
CREATE INDEX idempotency_keys_created ON idempotency_keys (created_at);
CREATE INDEX idempotency_keys_customer ON idempotency_keys (customer_id) WHERE customer_id IS NOT NULL;

-- +goose Down
DROP TABLE idempotency_keys;
DROP TABLE inbound_messages;
DROP TABLE webhook_attempts;
DROP TABLE webhook_messages;
DROP FUNCTION guard_webhook_message;
DROP TABLE webhook_endpoints;
DROP FUNCTION uuid_v7;
