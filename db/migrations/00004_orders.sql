-- Orders, their history, their drafts, and the links that hand out patterns.

-- +goose Up
-- What stays of a spec when the customer is erased: the garment, without what was chosen for the body.
CREATE FUNCTION bare_spec(spec jsonb) RETURNS jsonb LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT spec - ARRAY['choices', 'ease', 'allowances', 'confirmed']
$$;

CREATE TABLE orders (
    id                 uuid        PRIMARY KEY,
    shop_id            uuid        NOT NULL, -- there is one, as the customer's
    -- The shop's own number for the order. Unique, so that an order posted twice is never drafted
    -- twice, whatever becomes of idempotency keys.
    reference          text        NOT NULL CONSTRAINT orders_reference CHECK (char_length(reference) BETWEEN 1 AND 200),
    customer_id        uuid        NOT NULL,
    measurement_set_id uuid        NOT NULL,
    source             text        NOT NULL CONSTRAINT orders_source CHECK (source IN ('api', 'inbound')),
    -- What is ordered, all but the body: block or style, fit, choices, ease, allowances, unit, date.
    spec               jsonb       NOT NULL,
    -- Of spec, for lists. An order is for a block or for a style, and a style's script is known to
    -- the byte.
    block              text        GENERATED ALWAYS AS (spec ->> 'block') STORED,
    style              text        GENERATED ALWAYS AS (spec ->> 'style') STORED,
    style_hash         bytea       GENERATED ALWAYS AS (decode(spec ->> 'style_hash', 'hex')) STORED
                                   CONSTRAINT orders_style_script_fkey REFERENCES style_scripts,
    status             text        NOT NULL CONSTRAINT orders_status
                                   CHECK (status IN ('received', 'held', 'ready', 'failed', 'cancelled')),
    reason_code        text,       -- why it is held, has failed or was cancelled
    faults             jsonb,      -- the same in detail; may tell of the body
    revision           integer,    -- the draft that is handed out; NULL until there is one
    -- Raised by each request to draft. A drafting job carries the number that it serves, so that one
    -- run twice, or overtaken by a later request, changes nothing.
    draft_request      integer     NOT NULL DEFAULT 1 CONSTRAINT orders_draft_request CHECK (draft_request >= 1),
    -- How far the garment is made, beside the order's status: what is cut can't be drafted again
    -- without cutting again.
    progress           text        NOT NULL DEFAULT 'uncut' CONSTRAINT orders_progress CHECK (progress IN ('uncut', 'cut', 'shipped')),
    created_by         uuid        REFERENCES api_keys,
    created_at         timestamptz NOT NULL,
    updated_at         timestamptz NOT NULL,
    CONSTRAINT orders_reference_key UNIQUE (shop_id, reference),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    -- A set can only serve orders of the customer who was measured.
    CONSTRAINT orders_measurement_set_fkey FOREIGN KEY (customer_id, measurement_set_id)
        REFERENCES measurement_sets (customer_id, id),
    CONSTRAINT orders_block_or_style CHECK (num_nonnulls(block, style) = 1 AND (style IS NULL) = (style_hash IS NULL)),
    CONSTRAINT orders_ready_has_draft CHECK (status <> 'ready' OR revision IS NOT NULL),
    CONSTRAINT orders_held_has_reason CHECK (status NOT IN ('held', 'failed') OR reason_code IS NOT NULL)
);
CREATE INDEX orders_shop_status ON orders (shop_id, status, id DESC);
CREATE INDEX orders_shop_block ON orders (shop_id, block, id DESC) WHERE block IS NOT NULL;
CREATE INDEX orders_shop_style ON orders (shop_id, style, id DESC) WHERE style IS NOT NULL;
CREATE INDEX orders_style_script ON orders (style_hash) WHERE style_hash IS NOT NULL;
CREATE INDEX orders_shop_created ON orders (shop_id, created_at);
CREATE INDEX orders_customer ON orders (customer_id, id DESC);
-- What waits to be drafted: few rows, however many orders there are.
CREATE INDEX orders_waiting ON orders (shop_id, updated_at) WHERE status = 'received';
-- The last, because of indexes that seem equal the planner takes the newest. While a table is small and
-- has no statistics, all that begin with shop_id do, and a plan that was made then is kept for long.
ALTER TABLE orders ADD CONSTRAINT orders_of_shop UNIQUE (shop_id, id);

-- The history of an order: one row for each thing that happened to it. It is kept as long as the
-- order, which stays as a bare record after its customer is erased.
CREATE TABLE order_events (
    id          bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    order_id    uuid        NOT NULL,
    event       text        NOT NULL CONSTRAINT order_events_event CHECK (event <> ''), -- received, held, ready, revised ...
    from_status text,       -- NULL: the order began
    to_status   text        NOT NULL,
    revision    integer,    -- the draft that the event made or chose
    reason_code text,
    reason      text        CONSTRAINT order_events_reason CHECK (char_length(reason) <= 500), -- a person's own words
    confirmed   jsonb,      -- numbers in doubt that were confirmed, and the mistake that would explain each
    actor       uuid        REFERENCES api_keys, -- NULL: the service itself
    refit_id    uuid,       -- the refit that it was done for
    at          timestamptz NOT NULL,
    erased_at   timestamptz,
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT order_events_erased CHECK (erased_at IS NULL OR reason IS NULL AND confirmed IS NULL)
);
CREATE INDEX order_events_order ON order_events (order_id, id);
CREATE TRIGGER order_events_immutable BEFORE UPDATE OR DELETE ON order_events
    FOR EACH ROW EXECUTE FUNCTION refuse_change_except_erasure('reason', 'confirmed');

-- A draft as it was proved, from which every paper size and format is rendered. Files are not kept.
CREATE TABLE draft_revisions (
    order_id           uuid        NOT NULL,
    number             integer     NOT NULL CONSTRAINT draft_revisions_number CHECK (number >= 1),
    shop_id            uuid        NOT NULL,
    measurement_set_id uuid        NOT NULL REFERENCES measurement_sets,
    alterations_id     uuid        REFERENCES alterations, -- the version it was drafted with; NULL: none
    spec               jsonb       NOT NULL, -- the order's, as it was then
    engine             text        NOT NULL CONSTRAINT draft_revisions_engine CHECK (engine <> ''), -- version of the drafting code
    -- SHA-256 of the document, before compression. Kept after erasure: it says that a draft existed
    -- and tells nothing of the body.
    hash               bytea       NOT NULL CONSTRAINT draft_revisions_hash CHECK (octet_length(hash) = 32),
    document           bytea,      -- byte for byte what hash is of, in a zstd frame
    checks             jsonb,      -- the measures read back from the draft
    label              jsonb,      -- what is lettered on its files: reference, customer, date, key measures
    parent             integer     CONSTRAINT draft_revisions_parent CHECK (parent < number), -- the draft that it followed
    refit_id           uuid,       -- the refit that it was made for
    reason             text        CONSTRAINT draft_revisions_reason CHECK (char_length(reason) <= 500), -- why it was drafted again
    created_by         uuid        REFERENCES api_keys,
    created_at         timestamptz NOT NULL,
    erased_at          timestamptz,
    PRIMARY KEY (order_id, number),
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT draft_revisions_parent_fkey FOREIGN KEY (order_id, parent) REFERENCES draft_revisions (order_id, number),
    CONSTRAINT draft_revisions_erased CHECK (
        CASE WHEN erased_at IS NULL
            THEN document IS NOT NULL AND checks IS NOT NULL AND label IS NOT NULL
            ELSE document IS NULL AND checks IS NULL AND label IS NULL AND reason IS NULL
        END)
);
-- Already compressed: trying again would only cost time.
ALTER TABLE draft_revisions ALTER COLUMN document SET STORAGE EXTERNAL;
CREATE INDEX draft_revisions_measurement_set ON draft_revisions (measurement_set_id);
CREATE INDEX draft_revisions_script ON draft_revisions ((spec ->> 'style_hash')) WHERE spec ? 'style_hash';
CREATE TRIGGER draft_revisions_immutable BEFORE UPDATE OR DELETE ON draft_revisions
    FOR EACH ROW EXECUTE FUNCTION refuse_change_except_erasure('document', 'checks', 'label', 'reason', 'spec');

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

ALTER TABLE orders ADD CONSTRAINT orders_revision_fkey
    FOREIGN KEY (id, revision) REFERENCES draft_revisions (order_id, number);

-- Orders with their customer's reference and name, NULL once erased, and with the alterations that their
-- draft was made with; revision 0 is none. Subqueries instead of joins, so that locking an order locks
-- no other row.
CREATE VIEW shop_orders AS
    SELECT o.id, o.shop_id, o.reference, o.customer_id,
        (SELECT c.reference FROM customers c WHERE c.id = o.customer_id) AS customer_reference,
        (SELECT c.name FROM customers c WHERE c.id = o.customer_id) AS customer_name, o.measurement_set_id, o.source, o.spec, o.block, o.style,
        o.status, o.reason_code, o.faults, coalesce(o.revision, 0)::integer AS revision,
        (SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision) AS alterations_id,
        o.draft_request, o.progress, o.created_by, o.created_at, o.updated_at
    FROM orders o;

-- Orders with what their next draft is made from, except alterations; with the latest draft, number 0
-- for none; and with why and by whom a draft was last requested.
CREATE VIEW draft_inputs AS
    SELECT o.*,
        (o.spec || jsonb_strip_nulls(jsonb_build_object('measured_unit', m.unit, 'measurements', m.given)))::jsonb AS measured_spec,
        coalesce(l.number, 0)::integer AS last_number, l.hash AS last_hash, l.label AS last_label,
        e.reason AS request_reason, e.actor AS requested_by
    FROM shop_orders o
    JOIN measurement_sets m ON m.id = o.measurement_set_id
    LEFT JOIN draft_revisions l ON l.order_id = o.id AND l.number = (
        SELECT max(x.number) FROM draft_revisions x WHERE x.order_id = o.id)
    LEFT JOIN order_events e ON e.id = (
        SELECT x.id FROM order_events x
        WHERE x.order_id = o.id AND x.event IN ('received', 'confirmed', 'revising') ORDER BY x.id DESC LIMIT 1);

-- Drafts without their document.
CREATE VIEW draft_heads AS
    SELECT order_id, number, shop_id, measurement_set_id, alterations_id, spec, engine, hash, checks, label, parent,
        refit_id, reason, created_by, created_at, erased_at
    FROM draft_revisions;

-- Links that hand out a pattern without a key. A link's address is signed with the shop's link_key;
-- its row says whether it is still valid.
CREATE TABLE download_links (
    id         uuid        PRIMARY KEY,
    shop_id    uuid        NOT NULL,
    order_id   uuid        NOT NULL,
    revision   integer     NOT NULL,
    format     text        NOT NULL CONSTRAINT download_links_format CHECK (format <> ''), -- such as pdf, json
    options    jsonb       NOT NULL, -- paper, orientation, overlap
    max_uses   integer     NOT NULL CONSTRAINT download_links_max_uses CHECK (max_uses BETWEEN 1 AND 10000),
    uses       integer     NOT NULL DEFAULT 0,
    created_by uuid        REFERENCES api_keys,
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    revoked_at timestamptz,
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT download_links_revision_fkey FOREIGN KEY (order_id, revision) REFERENCES draft_revisions (order_id, number),
    CONSTRAINT download_links_expiry CHECK (expires_at > created_at),
    CONSTRAINT download_links_uses CHECK (uses BETWEEN 0 AND max_uses)
);
CREATE INDEX download_links_order ON download_links (order_id, id DESC);
CREATE INDEX download_links_old ON download_links (expires_at);

-- Messages taken in, so that one sent again gets the same order and no second one.
CREATE TABLE inbound_messages (
    shop_id     uuid        NOT NULL REFERENCES shops,
    message_id  text        NOT NULL CONSTRAINT inbound_messages_id CHECK (char_length(message_id) BETWEEN 1 AND 200),
    body_hash   bytea       NOT NULL CONSTRAINT inbound_messages_hash CHECK (octet_length(body_hash) = 32),
    order_id    uuid        NOT NULL REFERENCES orders,
    received_at timestamptz NOT NULL,
    PRIMARY KEY (shop_id, message_id)
);
CREATE INDEX inbound_messages_old ON inbound_messages (received_at);

-- Answers to requests with an Idempotency-Key, given again when the request comes again. There is
-- no 'in flight' row: that is an advisory lock held by the request's own transaction, which a
-- killed process cannot leave behind.
CREATE TABLE idempotency_keys (
    shop_id     uuid        NOT NULL REFERENCES shops,
    key         text        NOT NULL CONSTRAINT idempotency_keys_key CHECK (char_length(key) BETWEEN 1 AND 255),
    fingerprint bytea       NOT NULL CONSTRAINT idempotency_keys_fingerprint CHECK (octet_length(fingerprint) = 32),
    answer      bytea       NOT NULL, -- of a request that succeeded
    customer_id uuid        REFERENCES customers, -- whom the answer tells of: it goes when they are erased
    created_at  timestamptz NOT NULL,
    PRIMARY KEY (shop_id, key)
);
CREATE INDEX idempotency_keys_old ON idempotency_keys (created_at);
CREATE INDEX idempotency_keys_customer ON idempotency_keys (customer_id) WHERE customer_id IS NOT NULL;

-- +goose Down
DROP TABLE idempotency_keys;
DROP TABLE inbound_messages;
DROP TABLE download_links;
DROP VIEW draft_heads;
DROP VIEW draft_inputs;
DROP VIEW shop_orders;
ALTER TABLE orders DROP CONSTRAINT orders_revision_fkey;
DROP TABLE draft_revisions;
DROP FUNCTION refuse_draft_of_erased;
DROP TABLE order_events;
DROP TABLE orders;
DROP FUNCTION bare_spec;
