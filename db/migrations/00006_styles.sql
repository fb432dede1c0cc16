-- Styles: a shop's own garments as scripts, their revisions and proofs; and the
-- script that every order for a style was accepted with.

-- +goose Up

-- Scripts by what they are, so that a draft can be made anew whatever has become of the garment
-- since: a built-in one changes with a release, a shop's own with its next revision. Written once,
-- never removed; a script holds nothing of any customer.
CREATE TABLE style_scripts (
    hash       bytea       PRIMARY KEY,
    script     text        NOT NULL CONSTRAINT style_scripts_size CHECK (octet_length(script) BETWEEN 1 AND 131072),
    created_at timestamptz NOT NULL,
    CONSTRAINT style_scripts_hash CHECK (hash = sha256(convert_to(script, 'UTF8')))
);
CREATE TRIGGER style_scripts_append_only BEFORE UPDATE OR DELETE ON style_scripts
    FOR EACH ROW EXECUTE FUNCTION refuse_change();

CREATE TABLE styles (
    id         uuid        PRIMARY KEY,
    shop_id    uuid        NOT NULL REFERENCES shops,
    slug       text        NOT NULL CONSTRAINT styles_slug CHECK (slug ~ '^[a-z]([a-z0-9-]{0,58}[a-z0-9])?$'),
    revisions  integer     NOT NULL DEFAULT 0, -- so far: the last one's number
    created_by uuid        REFERENCES api_keys,
    created_at timestamptz NOT NULL,
    CONSTRAINT styles_slug_key UNIQUE (shop_id, slug),
    CONSTRAINT styles_of_shop UNIQUE (shop_id, id)
);

CREATE TABLE style_revisions (
    style_id     uuid        NOT NULL,
    number       integer     NOT NULL CONSTRAINT style_revisions_number CHECK (number >= 1),
    shop_id      uuid        NOT NULL,
    hash         bytea       NOT NULL CONSTRAINT style_revisions_script_fkey REFERENCES style_scripts,
    head         jsonb       NOT NULL, -- what the script says of itself, lengths in mm
    lint         jsonb       NOT NULL, -- what was found in it when it came
    note         text        CONSTRAINT style_revisions_note CHECK (char_length(note) <= 500),
    state        text        NOT NULL CONSTRAINT style_revisions_state CHECK (state IN ('draft', 'proved', 'published', 'retired')),
    proof_id     uuid,       -- the one that it was proved by
    created_by   uuid        REFERENCES api_keys,
    created_at   timestamptz NOT NULL,
    published_at timestamptz,
    retired_at   timestamptz,
    PRIMARY KEY (style_id, number),
    FOREIGN KEY (shop_id, style_id) REFERENCES styles (shop_id, id),
    CONSTRAINT style_revisions_proved CHECK (state NOT IN ('proved', 'published') OR proof_id IS NOT NULL),
    CONSTRAINT style_revisions_published CHECK (state <> 'published' OR published_at IS NOT NULL),
    CONSTRAINT style_revisions_retired CHECK ((state = 'retired') = (retired_at IS NOT NULL))
);

-- A revision's script is as it came, for good; only where it stands may change, and only so.
-- +goose StatementBegin
CREATE FUNCTION guard_style_revision() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    may_change text[] := ARRAY['state', 'proof_id', 'published_at', 'retired_at'];
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a style revision is written once: DELETE refused'
            USING ERRCODE = 'check_violation', TABLE = 'style_revisions', CONSTRAINT = 'style_revisions_immutable';
    ELSIF TG_OP = 'INSERT' THEN
        IF NEW.state <> 'draft' THEN
            RAISE EXCEPTION 'a style revision starts as a draft, not %', NEW.state
                USING ERRCODE = 'check_violation', TABLE = 'style_revisions', CONSTRAINT = 'style_revisions_transition';
        END IF;
    ELSIF to_jsonb(NEW) - may_change <> to_jsonb(OLD) - may_change THEN
        RAISE EXCEPTION 'a style revision is written once'
            USING ERRCODE = 'check_violation', TABLE = 'style_revisions', CONSTRAINT = 'style_revisions_immutable';
    ELSIF NEW.state <> OLD.state AND (OLD.state, NEW.state) NOT IN (
        ('draft',     'proved'),    -- drafted on bodies without a failure
        ('draft',     'retired'),   -- given up
        ('proved',    'draft'),     -- failed on other bodies since
        ('proved',    'published'), -- open to orders
        ('proved',    'retired'),
        ('published', 'retired')    -- takes no new orders; those that have it keep it
    ) THEN
        RAISE EXCEPTION 'a style revision that is % cannot become %', OLD.state, NEW.state
            USING ERRCODE = 'check_violation', TABLE = 'style_revisions', CONSTRAINT = 'style_revisions_transition';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER style_revisions_guard BEFORE INSERT OR UPDATE OR DELETE ON style_revisions
    FOR EACH ROW EXECUTE FUNCTION guard_style_revision();

-- A proof drafts a revision on many bodies. Neither it nor its result holds a body: those of a file
-- are in body_rows only while it runs, and the shop's own customers are named by measurement set.
CREATE TABLE style_proofs (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL REFERENCES shops,
    style_id    uuid        NOT NULL,
    number      integer     NOT NULL,
    bodies      text        NOT NULL CONSTRAINT style_proofs_bodies CHECK (bodies IN ('panel', 'file', 'customers')),
    body_rows   jsonb,      -- of a file, until it has run; of customers, the ids of their measurement sets
    status      text        NOT NULL CONSTRAINT style_proofs_status CHECK (status IN ('waiting', 'running', 'done', 'cancelled', 'failed')),
    done        integer     NOT NULL DEFAULT 0, -- drafts so far, in the order in which they are made
    total       integer     NOT NULL CONSTRAINT style_proofs_total CHECK (total >= 1),
    counted     jsonb,      -- what is known so far, to go on from
    result      jsonb,
    created_by  uuid        REFERENCES api_keys,
    created_at  timestamptz NOT NULL,
    started_at  timestamptz,
    finished_at timestamptz,
    FOREIGN KEY (style_id, number) REFERENCES style_revisions,
    FOREIGN KEY (shop_id, style_id) REFERENCES styles (shop_id, id),
    CONSTRAINT style_proofs_of_revision UNIQUE (style_id, number, id),
    CONSTRAINT style_proofs_done CHECK (done BETWEEN 0 AND total),
    CONSTRAINT style_proofs_finished CHECK ((status IN ('done', 'cancelled', 'failed')) = (finished_at IS NOT NULL)),
    CONSTRAINT style_proofs_result CHECK ((status = 'done') = (result IS NOT NULL)),
    -- Of a proof that is over no body is left.
    CONSTRAINT style_proofs_cleared CHECK (finished_at IS NULL OR (body_rows IS NULL AND counted IS NULL))
);
CREATE INDEX style_proofs_revision ON style_proofs (style_id, number, id DESC);
CREATE INDEX style_proofs_open ON style_proofs (created_at) WHERE finished_at IS NULL;

-- +goose StatementBegin
CREATE FUNCTION guard_style_proof() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.finished_at IS NOT NULL THEN
        RAISE EXCEPTION 'a proof that is % stays as it is', OLD.status
            USING ERRCODE = 'check_violation', TABLE = 'style_proofs', CONSTRAINT = 'style_proofs_finished_once';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER style_proofs_guard BEFORE UPDATE ON style_proofs
    FOR EACH ROW EXECUTE FUNCTION guard_style_proof();

ALTER TABLE style_revisions ADD CONSTRAINT style_revisions_proof_fkey
    FOREIGN KEY (style_id, number, proof_id) REFERENCES style_proofs (style_id, number, id);

-- An order is for a block or for a style, and a style's script is known to the byte.
ALTER TABLE orders ALTER COLUMN block DROP NOT NULL;
ALTER TABLE orders
    ADD COLUMN style      text  GENERATED ALWAYS AS (spec ->> 'style') STORED,
    ADD COLUMN style_hash bytea GENERATED ALWAYS AS (decode(spec ->> 'style_hash', 'hex')) STORED
        CONSTRAINT orders_style_script_fkey REFERENCES style_scripts;
ALTER TABLE orders ADD CONSTRAINT orders_block_or_style CHECK (
    num_nonnulls(block, style) = 1 AND (style IS NULL) = (style_hash IS NULL));
CREATE INDEX orders_shop_style ON orders (shop_id, style, id DESC) WHERE style IS NOT NULL;

-- +goose Down
-- block stays without NOT NULL: orders for a style have none.
DROP INDEX orders_shop_style;
ALTER TABLE orders DROP CONSTRAINT orders_block_or_style, DROP COLUMN style, DROP COLUMN style_hash;
ALTER TABLE style_revisions DROP CONSTRAINT style_revisions_proof_fkey;
DROP TABLE style_proofs;
DROP FUNCTION guard_style_proof;
DROP TABLE style_revisions;
DROP FUNCTION guard_style_revision;
DROP TABLE styles;
DROP TABLE style_scripts;
