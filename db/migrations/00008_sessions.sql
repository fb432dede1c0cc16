-- Sessions of the workroom. Signing in with a key opens one; it ends when it expires, when it is not
-- used for a while, when somebody ends it, and with its key.

-- +goose Up
CREATE TABLE sessions (
    id         uuid        PRIMARY KEY,
    key_id     uuid        NOT NULL REFERENCES api_keys,
    -- SHA-256 of the token in the browser's cookie: 256 random bits, so a slow hash would protect
    -- nothing more.
    hash       bytea       NOT NULL CONSTRAINT sessions_hash_key UNIQUE
                           CONSTRAINT sessions_hash CHECK (octet_length(hash) = 32),
    created_at timestamptz NOT NULL,
    seen_at    timestamptz NOT NULL, -- to the minute or so
    expires_at timestamptz NOT NULL,
    CONSTRAINT sessions_expiry CHECK (expires_at > created_at)
);
CREATE INDEX sessions_key ON sessions (key_id);
CREATE INDEX sessions_old ON sessions (expires_at);

-- The pages follow a shop's orders by the number of the last event.
CREATE INDEX order_events_shop ON order_events (shop_id, id DESC);

-- +goose Down
DROP INDEX order_events_shop;
DROP TABLE sessions;
