-- Orders, their history, and the drafts made for them.

-- +goose Up
CREATE TABLE orders (
    id                 uuid        PRIMARY KEY,
    shop_id            uuid        NOT NULL REFERENCES shops,
    -- The shop's own number for the order. Unique, so that an order posted twice is never drafted
    -- twice, whatever becomes of idempotency keys.
    reference          text        NOT NULL CHECK (reference <> '' AND char_length(reference) <= 200),
    customer_id        uuid        NOT NULL,
    measurement_set_id uuid        NOT NULL,
    source             text        NOT NULL CONSTRAINT orders_source CHECK (source IN ('api', 'inbound')),
    state              text        NOT NULL CONSTRAINT orders_state
                                   CHECK (state IN ('received', 'held', 'ready', 'failed', 'cancelled')),
    reasons            jsonb,      -- why it is held or has failed: a list
    block              text        NOT NULL,
    fit                text        NOT NULL,
    unit               text        NOT NULL CONSTRAINT orders_unit CHECK (unit IN ('cm', 'inch')),
    dated              date,       -- as lettered on the pattern
    choices            jsonb       NOT NULL DEFAULT '{}',
    ease               jsonb       NOT NULL DEFAULT '{}', -- in unit, as given
    allowances         jsonb       NOT NULL DEFAULT '{}', -- in unit, as given
    current_revision   integer,    -- the draft that is handed out; NULL until there is one
    created_at         timestamptz NOT NULL,
    updated_at         timestamptz NOT NULL,
    CONSTRAINT orders_reference_key UNIQUE (shop_id, reference),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    -- A set can only serve orders of the customer who was measured.
    CONSTRAINT orders_measurement_set_fkey FOREIGN KEY (customer_id, measurement_set_id)
        REFERENCES measurement_sets (customer_id, id),
    CONSTRAINT orders_ready_has_draft CHECK (state <> 'ready' OR current_revision IS NOT NULL),
    CONSTRAINT orders_reasons CHECK (state IN ('held', 'failed') OR reasons IS NULL)
);
CREATE INDEX orders_shop ON orders (shop_id, id DESC);
CREATE INDEX orders_shop_state ON orders (shop_id, state, id DESC);
CREATE INDEX orders_customer ON orders (customer_id, id DESC);

-- Which state may follow which. The database is asked, rather than each writer trusted, because a
-- job and a request may both want the same order at the same moment.
-- +goose StatementBegin
CREATE FUNCTION guard_order_state() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'INSERT' THEN
        IF NEW.state NOT IN ('received', 'held') THEN
            RAISE EXCEPTION 'an order starts received or held, not %', NEW.state
                USING ERRCODE = 'check_violation', TABLE = 'orders', CONSTRAINT = 'orders_transition';
        END IF;
    ELSIF NEW.state <> OLD.state AND (OLD.state, NEW.state) NOT IN (
        ('received', 'held'),      -- a check asks a question
        ('received', 'ready'),     -- drafted and proved
        ('received', 'failed'),    -- cannot be drafted
        ('received', 'cancelled'),
        ('held',     'received'),  -- confirmed: to be drafted
        ('held',     'ready'),     -- confirmed: the draft it already has stands
        ('held',     'cancelled'),
        ('ready',    'received'),  -- to be drafted again
        ('ready',    'held'),
        ('ready',    'cancelled'),
        ('failed',   'received'),  -- tried again
        ('failed',   'cancelled')) THEN
        RAISE EXCEPTION 'an order that is % cannot become %', OLD.state, NEW.state
            USING ERRCODE = 'check_violation', TABLE = 'orders', CONSTRAINT = 'orders_transition';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER orders_transition BEFORE INSERT OR UPDATE OF state ON orders
    FOR EACH ROW EXECUTE FUNCTION guard_order_state();

-- The history of an order: one row for whatever happened to it.
CREATE TABLE order_events (
    id        bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    order_id  uuid        NOT NULL REFERENCES orders,
    event     text        NOT NULL CHECK (event <> ''), -- such as received, held, confirmed, ready, revised
    state     text        NOT NULL, -- the state it left the order in
    actor     uuid        REFERENCES api_keys, -- NULL: the service itself
    detail    jsonb,
    at        timestamptz NOT NULL,
    erased_at timestamptz,
    CONSTRAINT order_events_erased CHECK (erased_at IS NULL OR detail IS NULL)
);
CREATE INDEX order_events_order ON order_events (order_id, id);
CREATE TRIGGER order_events_immutable BEFORE UPDATE OR DELETE ON order_events
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('detail');

-- A draft as it was proved, from which every paper size and format is rendered. Files are not kept.
CREATE TABLE draft_revisions (
    id                 uuid        PRIMARY KEY,
    order_id           uuid        NOT NULL REFERENCES orders,
    number             integer     NOT NULL CHECK (number >= 1),
    measurement_set_id uuid        NOT NULL REFERENCES measurement_sets,
    made_from          jsonb       NOT NULL, -- block, fit, choices, ease, allowances: all but the body
    engine             text        NOT NULL CHECK (engine <> ''), -- version of the drafting code
    -- SHA-256 of the canonical JSON, before compression. Kept after erasure: it says that a draft
    -- existed and tells nothing of the body.
    hash               bytea       NOT NULL CHECK (octet_length(hash) = 32),
    geometry           bytea,      -- the canonical JSON, zstd; byte for byte what hash is of
    geometry_bytes     integer     NOT NULL CHECK (geometry_bytes > 0), -- before compression
    checks             jsonb,      -- the measures read back from the draft
    created_at         timestamptz NOT NULL,
    erased_at          timestamptz,
    CONSTRAINT draft_revisions_number_key UNIQUE (order_id, number),
    CONSTRAINT draft_revisions_erased CHECK (
        CASE WHEN erased_at IS NULL
            THEN geometry IS NOT NULL AND checks IS NOT NULL
            ELSE geometry IS NULL AND checks IS NULL
        END)
);
-- Already compressed: trying again would only cost time.
ALTER TABLE draft_revisions ALTER COLUMN geometry SET STORAGE EXTERNAL;
CREATE INDEX draft_revisions_measurement_set ON draft_revisions (measurement_set_id);
CREATE TRIGGER draft_revisions_immutable BEFORE UPDATE OR DELETE ON draft_revisions
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('geometry', 'checks');

-- A draft begun before its customer was erased must not bring the body back. The lock makes the
-- insert wait for an erasure under way, and the other way round.
-- +goose StatementBegin
CREATE FUNCTION refuse_draft_of_erased() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    erased timestamptz;
BEGIN
    SELECT erased_at INTO erased FROM measurement_sets WHERE id = NEW.measurement_set_id FOR SHARE;
    IF erased IS NOT NULL THEN
        RAISE EXCEPTION 'measurement set % is erased', NEW.measurement_set_id
            USING ERRCODE = 'check_violation', TABLE = 'draft_revisions', CONSTRAINT = 'draft_revisions_not_erased';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER draft_revisions_not_erased BEFORE INSERT ON draft_revisions
    FOR EACH ROW EXECUTE FUNCTION refuse_draft_of_erased();

ALTER TABLE orders ADD CONSTRAINT orders_current_revision_fkey
    FOREIGN KEY (id, current_revision) REFERENCES draft_revisions (order_id, number);

-- Links that hand out a pattern without a key.
CREATE TABLE signed_links (
    id         uuid        PRIMARY KEY,
    shop_id    uuid        NOT NULL REFERENCES shops,
    order_id   uuid        NOT NULL REFERENCES orders,
    token_hash bytea       NOT NULL CONSTRAINT signed_links_token_key UNIQUE CHECK (octet_length(token_hash) = 32),
    query      text        NOT NULL, -- what it hands out: paper, orientation, overlap
    max_uses   integer     NOT NULL CHECK (max_uses BETWEEN 1 AND 10000),
    uses       integer     NOT NULL DEFAULT 0,
    created_by uuid        REFERENCES api_keys,
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL CHECK (expires_at > created_at),
    revoked_at timestamptz,
    CONSTRAINT signed_links_uses CHECK (uses BETWEEN 0 AND max_uses)
);
CREATE INDEX signed_links_order ON signed_links (order_id, id DESC);
CREATE INDEX signed_links_expiry ON signed_links (expires_at);

-- +goose Down
DROP TABLE signed_links;
ALTER TABLE orders DROP CONSTRAINT orders_current_revision_fkey;
DROP TABLE draft_revisions;
DROP FUNCTION refuse_draft_of_erased;
DROP TABLE order_events;
DROP TABLE orders;
DROP FUNCTION guard_order_state;
