-- Shops, the keys that open them, and the record of what was done.
--
-- IDs are UUID version 7, made by the caller: they sort by the time of making, so a list is paged by
-- ID alone and indexes grow at one end. Times come from the caller too, so that one request stamps
-- one time.
--
-- Which state may follow which is a rule of package service, checked there under the row's lock. The
-- schema holds what must be true of a row however it came to be, and what must never change.

-- +goose Up

-- For tables whose rows are written once. The only change allowed is the erasure of a person's data:
-- erased_at is set, once, and the columns named as the trigger's arguments are emptied. A CHECK on
-- each table says that they are empty exactly when erased_at is set.
-- +goose StatementBegin
CREATE FUNCTION refuse_change_except_erasure() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    may_change text[] := TG_ARGV || ARRAY['erased_at'];
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF OLD.erased_at IS NULL AND NEW.erased_at IS NOT NULL
            AND to_jsonb(NEW) - may_change = to_jsonb(OLD) - may_change THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION '% is written once: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'check_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = TG_TABLE_NAME || '_immutable';
END
$$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'check_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = TG_TABLE_NAME || '_append_only';
END
$$;
-- +goose StatementEnd

-- UUID version 7 (RFC 9562 section 5.7): 48 bits of milliseconds, then random. Only for messages,
-- whose number is known here alone: one for each endpoint that is subscribed.
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

CREATE TABLE shops (
    id                     uuid        PRIMARY KEY,
    slug                   text        NOT NULL CONSTRAINT shops_slug_key UNIQUE
                                       CONSTRAINT shops_slug CHECK (slug ~ '^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$'),
    name                   text        NOT NULL CONSTRAINT shops_name CHECK (char_length(name) BETWEEN 1 AND 200),
    link_key               bytea       NOT NULL, -- signs download links; sealed (see db.Sealer)
    -- Days that a customer's data is kept after their last order; NULL keeps it until erased.
    retention_days         integer     CONSTRAINT shops_retention CHECK (retention_days BETWEEN 1 AND 3650),
    -- Probabilities that a measurement is wrong, from which on it is noted, asked about and refused;
    -- NULL: the program's own, and for refusing never.
    check_note             double precision CONSTRAINT shops_check_note CHECK (check_note > 0 AND check_note < 1),
    check_confirm          double precision CONSTRAINT shops_check_confirm CHECK (check_confirm > 0 AND check_confirm < 1),
    check_refuse           double precision CONSTRAINT shops_check_refuse CHECK (check_refuse > 0 AND check_refuse < 1),
    -- Secrets for messages that the shop sends in, sealed. At most two are valid at once, the earlier
    -- one until a stated time, so that rotation needs no moment of silence. Two columns instead of a
    -- table of secrets make a third impossible.
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

-- Who did what. Entries name subjects by ID and hold no names, measurements, keys or links, so that
-- erasing a customer leaves nothing here to erase. They cannot be changed, nor removed in their
-- first year, even by the owner of the tables short of dropping the trigger; retention removes them
-- after that.
CREATE TABLE audit_entries (
    id           bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id      uuid        NOT NULL REFERENCES shops,
    actor        uuid        REFERENCES api_keys, -- NULL: the operator at the command line, or the service itself
    action       text        NOT NULL CONSTRAINT audit_entries_action CHECK (char_length(action) BETWEEN 1 AND 60),
    subject_type text        NOT NULL,
    subject_id   uuid,
    request_id   text        CONSTRAINT audit_entries_request_id CHECK (char_length(request_id) <= 64), -- joins it to the log
    detail       jsonb,
    at           timestamptz NOT NULL
);
CREATE INDEX audit_entries_shop ON audit_entries (shop_id, id DESC);
CREATE INDEX audit_entries_action ON audit_entries (shop_id, action, id DESC);
CREATE INDEX audit_entries_subject ON audit_entries (subject_id, id DESC);
CREATE INDEX audit_entries_old ON audit_entries (at);
CREATE TRIGGER audit_entries_append_only BEFORE UPDATE ON audit_entries
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER audit_entries_keep BEFORE DELETE ON audit_entries
    FOR EACH ROW WHEN (OLD.at > now() - interval '1 year') EXECUTE FUNCTION refuse_change();
CREATE TRIGGER audit_entries_no_truncate BEFORE TRUNCATE ON audit_entries
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- +goose Down
DROP TABLE audit_entries;
DROP TABLE api_keys;
DROP TABLE shops;
DROP FUNCTION uuid_v7;
DROP FUNCTION refuse_change;
DROP FUNCTION refuse_change_except_erasure;
