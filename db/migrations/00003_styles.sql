-- Styles: a shop's own garments as scripts, their revisions and proofs; and the script that every
-- order for a style was accepted with.

-- +goose Up

-- Scripts by their hash, so that a draft can be made again whatever has become of the garment
-- since: a built-in one changes with a release, a shop's own with its next revision. A script holds
-- nothing of any customer. Retention removes one that nothing has named for some time.
CREATE TABLE style_scripts (
    hash    bytea       PRIMARY KEY,
    script  text        NOT NULL CONSTRAINT style_scripts_size CHECK (octet_length(script) BETWEEN 1 AND 131072),
    used_at timestamptz NOT NULL, -- when it was last stored or ordered, to the day
    CONSTRAINT style_scripts_hash CHECK (hash = sha256(convert_to(script, 'UTF8')))
);
CREATE INDEX style_scripts_old ON style_scripts (used_at);
CREATE TRIGGER style_scripts_append_only BEFORE UPDATE OF hash, script ON style_scripts
    FOR EACH ROW EXECUTE FUNCTION refuse_change();

CREATE TABLE styles (
    id         uuid        PRIMARY KEY,
    shop_id    uuid        NOT NULL REFERENCES shops,
    slug       text        NOT NULL CONSTRAINT styles_slug CHECK (slug ~ '^[a-z]([a-z0-9-]{0,58}[a-z0-9])?$'),
    revisions  integer     NOT NULL DEFAULT 0, -- number of the latest revision
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
    head         jsonb       NOT NULL, -- the published description, lengths in mm
    warnings     jsonb       NOT NULL, -- of the linter at its upload
    reason       text        CONSTRAINT style_revisions_reason CHECK (char_length(reason) <= 500),
    status       text        NOT NULL CONSTRAINT style_revisions_status CHECK (status IN ('draft', 'proved', 'published', 'retired')),
    proof_id     uuid,       -- the proof that proved it
    created_by   uuid        REFERENCES api_keys,
    created_at   timestamptz NOT NULL,
    published_at timestamptz,
    retired_at   timestamptz,
    PRIMARY KEY (style_id, number),
    FOREIGN KEY (shop_id, style_id) REFERENCES styles (shop_id, id),
    CONSTRAINT style_revisions_proved CHECK (status NOT IN ('proved', 'published') OR proof_id IS NOT NULL),
    CONSTRAINT style_revisions_published CHECK (status <> 'published' OR published_at IS NOT NULL),
    CONSTRAINT style_revisions_retired CHECK ((status = 'retired') = (retired_at IS NOT NULL))
);
CREATE INDEX style_revisions_script ON style_revisions (hash);

-- A revision's script stays as it was uploaded; only its status may change.
-- +goose StatementBegin
CREATE FUNCTION guard_style_revision() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    may_change text[] := ARRAY['status', 'proof_id', 'published_at', 'retired_at'];
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF to_jsonb(NEW) - may_change = to_jsonb(OLD) - may_change THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION 'a style revision is written once: % refused', TG_OP
        USING ERRCODE = 'check_violation', TABLE = 'style_revisions', CONSTRAINT = 'style_revisions_immutable';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER style_revisions_guard BEFORE UPDATE OR DELETE ON style_revisions
    FOR EACH ROW EXECUTE FUNCTION guard_style_revision();

-- A proof drafts a revision on many bodies. Neither it nor its result holds a body: those of a file
-- are in body_rows only while it runs, and the shop's own customers are named by measurement set.
-- Retention removes old proofs by which no revision was proved.
CREATE TABLE style_proofs (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL REFERENCES shops,
    style_id    uuid        NOT NULL,
    number      integer     NOT NULL,
    bodies      text        NOT NULL CONSTRAINT style_proofs_bodies CHECK (bodies IN ('panel', 'file', 'customers')),
    body_rows   jsonb,      -- of a file, until it has run; of customers, the IDs of their measurement sets
    status      text        NOT NULL CONSTRAINT style_proofs_status CHECK (status IN ('waiting', 'running', 'done', 'cancelled', 'failed')),
    done        integer     NOT NULL DEFAULT 0, -- drafts so far, in the order in which they are made
    total       integer     NOT NULL CONSTRAINT style_proofs_total CHECK (total >= 1),
    counted     jsonb,      -- the tally so far, to continue from
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
    -- A finished proof keeps no body.
    CONSTRAINT style_proofs_cleared CHECK (finished_at IS NULL OR (body_rows IS NULL AND counted IS NULL))
);
CREATE INDEX style_proofs_open ON style_proofs (shop_id, created_at) WHERE finished_at IS NULL;
CREATE INDEX style_proofs_old ON style_proofs (finished_at);

-- What a proof on customers says, without the texts that name fewer than three people, one of whom is
-- given by a measurement set: a style's script may spell in a text what it knows of a body.
-- +goose StatementBegin
CREATE FUNCTION without_people(result jsonb, sets text[]) RETURNS jsonb LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT result || coalesce(jsonb_object_agg(list.key, (
        SELECT coalesce(jsonb_agg(CASE
            WHEN named.people && sets AND cardinality(named.people) < 3 THEN r.said || '{"reason": "erased"}'
            ELSE r.said END ORDER BY r.at), '[]')
        FROM jsonb_array_elements(list.value) WITH ORDINALITY AS r (said, at),
            LATERAL (SELECT array_agg(DISTINCT b #>> '{}') AS people
                FROM (SELECT jsonb_path_query(r.said, '$.body') UNION ALL
                    SELECT jsonb_path_query(r.said, '$.more[*].body')) AS bodies (b)) AS named
    )), '{}')
    FROM jsonb_each(result) AS list
    WHERE list.key IN ('refusals', 'failures', 'warnings', 'faults') AND jsonb_typeof(list.value) = 'array'
$$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION guard_style_proof() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a proof that is % stays as it is', OLD.status
        USING ERRCODE = 'check_violation', TABLE = 'style_proofs', CONSTRAINT = 'style_proofs_finished_once';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER style_proofs_guard BEFORE UPDATE ON style_proofs
    FOR EACH ROW WHEN (OLD.finished_at IS NOT NULL
        AND (OLD.bodies <> 'customers' OR to_jsonb(NEW) - 'result' <> to_jsonb(OLD) - 'result')) EXECUTE FUNCTION guard_style_proof();

ALTER TABLE style_revisions ADD CONSTRAINT style_revisions_proof_fkey
    FOREIGN KEY (style_id, number, proof_id) REFERENCES style_proofs (style_id, number, id);

-- Revisions and proofs with the slug of their style; proofs without their bodies and tally.
CREATE VIEW shop_style_revisions AS
    SELECT r.shop_id, s.slug, r.style_id, r.number, r.hash, r.head, r.warnings, r.reason, r.status, r.proof_id,
        r.created_by, r.created_at, r.published_at, r.retired_at
    FROM style_revisions r JOIN styles s ON s.id = r.style_id;
CREATE VIEW shop_style_proofs AS
    SELECT p.shop_id, p.id, s.slug, p.style_id, p.number, p.bodies, p.status, p.done, p.total, p.result,
        p.created_by, p.created_at, p.started_at, p.finished_at
    FROM style_proofs p JOIN styles s ON s.id = p.style_id;

-- +goose Down
DROP VIEW shop_style_proofs;
DROP VIEW shop_style_revisions;
ALTER TABLE style_revisions DROP CONSTRAINT style_revisions_proof_fkey;
DROP TABLE style_proofs;
DROP FUNCTION guard_style_proof;
DROP FUNCTION without_people;
DROP TABLE style_revisions;
DROP FUNCTION guard_style_revision;
DROP TABLE styles;
DROP TABLE style_scripts;
