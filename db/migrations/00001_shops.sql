-- Shops and the keys that open them.
--
-- Ids are UUID version 7, made by the caller: they sort by the time of making,
-- so a list is paged by id alone and indexes grow at one end.
-- Times come from the caller too, so that one request stamps one time.

-- +goose Up
CREATE TABLE shops (
    id                     uuid        PRIMARY KEY,
    slug                   text        NOT NULL CONSTRAINT shops_slug_key UNIQUE
                                       CONSTRAINT shops_slug CHECK (slug ~ '^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$'),
    name                   text        NOT NULL CONSTRAINT shops_name CHECK (char_length(name) BETWEEN 1 AND 200),
    link_key               bytea       NOT NULL, -- signs download links; sealed (see db.Sealer)
    -- Days that a customer's data is kept after their last order; NULL keeps it until erased.
    retention_days         integer     CONSTRAINT shops_retention CHECK (retention_days BETWEEN 1 AND 3650),
    -- Secrets for messages that the shop sends in, sealed. At most two are valid at once, the earlier
    -- one until a stated time, so that rotation needs no moment of silence. Having two columns and no
    -- table of secrets makes a third impossible.
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
    name         text        NOT NULL CONSTRAINT api_keys_name CHECK (char_length(name) BETWEEN 1 AND 200),
    role         text        NOT NULL CONSTRAINT api_keys_role CHECK (role IN ('shop', 'staff', 'admin')),
    -- The readable start of the key, by which its row is found; it opens nothing.
    prefix       text        NOT NULL CONSTRAINT api_keys_prefix_key UNIQUE
                             CONSTRAINT api_keys_prefix CHECK (char_length(prefix) BETWEEN 6 AND 40),
    -- SHA-256 of the key. Keys are random with far more than 128 bits, so a slow hash would protect
    -- nothing more and would cost every request its time.
    hash         bytea       NOT NULL CONSTRAINT api_keys_hash CHECK (octet_length(hash) = 32),
    created_by   uuid        REFERENCES api_keys, -- NULL: made at the operator's command line
    created_at   timestamptz NOT NULL,
    expires_at   timestamptz,
    last_used_at timestamptz, -- to the minute or so: not written on every request
    revoked_at   timestamptz
);
CREATE INDEX api_keys_shop ON api_keys (shop_id, id DESC);

-- +goose Down
DROP TABLE api_keys;
DROP TABLE shops;
