-- Shops and the keys that open them.
--
-- Ids are UUID version 7, made by the caller: they sort by the time of making,
-- so a list is paged by id alone and indexes grow at one end.
-- Times come from the caller too, so that one request stamps one time.

-- +goose Up
CREATE TABLE shops (
    id                     uuid        PRIMARY KEY,
    name                   text        NOT NULL CHECK (name <> '' AND char_length(name) <= 200),
    -- Days that a customer's measurements are kept after their last order; NULL keeps them until erased.
    retention_days         integer     CHECK (retention_days BETWEEN 1 AND 3650),
    -- Secrets for messages that the shop sends in, sealed (see db.Sealer). At most two are valid at
    -- once, the earlier one until a stated time, so that rotation needs no moment of silence. Having
    -- two columns and no table of secrets makes a third impossible.
    inbound_secret         bytea,
    inbound_previous       bytea,
    inbound_previous_until timestamptz,
    created_at             timestamptz NOT NULL,
    CONSTRAINT shops_inbound_previous CHECK (
        (inbound_previous IS NULL) = (inbound_previous_until IS NULL)
        AND (inbound_previous IS NULL OR inbound_secret IS NOT NULL))
);

CREATE TABLE api_keys (
    id           uuid        PRIMARY KEY,
    shop_id      uuid        NOT NULL REFERENCES shops,
    name         text        NOT NULL CHECK (name <> '' AND char_length(name) <= 200),
    role         text        NOT NULL CONSTRAINT api_keys_role CHECK (role IN ('shop', 'staff', 'admin')),
    -- The readable start of the key, by which its row is found; it opens nothing.
    prefix       text        NOT NULL CONSTRAINT api_keys_prefix_key UNIQUE CHECK (char_length(prefix) BETWEEN 8 AND 32),
    -- SHA-256 of the whole key. A key is 256 random bits, so a slow hash would protect nothing more
    -- and would cost every request its time.
    hash         bytea       NOT NULL CHECK (octet_length(hash) = 32),
    created_at   timestamptz NOT NULL,
    expires_at   timestamptz,
    last_used_at timestamptz, -- to the minute or so: not written on every request
    revoked_at   timestamptz
);
CREATE INDEX api_keys_shop ON api_keys (shop_id, id DESC);

-- +goose Down
DROP TABLE api_keys;
DROP TABLE shops;
