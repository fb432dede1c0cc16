-- Fittings: drafts tried on a form of the customer's body, before cloth is cut.

-- +goose Up
CREATE TABLE fittings (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    order_id    uuid        NOT NULL,
    revision    integer     NOT NULL, -- the draft that is tried on
    level       text        NOT NULL CONSTRAINT fittings_level CHECK (level IN ('quick', 'full')),
    cures       boolean     NOT NULL DEFAULT false, -- whether to look for what removes each finding
    automatic   boolean     NOT NULL DEFAULT false, -- not asked for: its shop tries each draft on
    cloth       text        CONSTRAINT fittings_cloth CHECK (cloth <> ''), -- name of a preset; NULL: by style
    state       text        NOT NULL CONSTRAINT fittings_state CHECK (state IN ('queued', 'running', 'ready', 'failed', 'cancelled')),
    report      jsonb,      -- what was found; tells of the body
    picture     bytea,      -- of the garment on the body, packed
    reason      text        CONSTRAINT fittings_reason CHECK (char_length(reason) BETWEEN 1 AND 1000), -- why it failed
    engine      text,       -- version of the program that tried it on
    created_by  uuid        REFERENCES api_keys,
    created_at  timestamptz NOT NULL,
    started_at  timestamptz,
    finished_at timestamptz,
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT fittings_revision_fkey FOREIGN KEY (order_id, revision) REFERENCES draft_revisions (order_id, number),
    CONSTRAINT fittings_ready CHECK ((state = 'ready') = (report IS NOT NULL) AND (state = 'ready') = (picture IS NOT NULL)),
    CONSTRAINT fittings_failed CHECK ((state = 'failed') = (reason IS NOT NULL)),
    CONSTRAINT fittings_finished CHECK ((state IN ('queued', 'running')) = (finished_at IS NULL))
);
ALTER TABLE fittings ALTER COLUMN picture SET STORAGE EXTERNAL; -- compressed already
CREATE INDEX fittings_order ON fittings (order_id, id DESC);
CREATE INDEX fittings_open ON fittings (shop_id) WHERE finished_at IS NULL;

ALTER TABLE shops ADD COLUMN fit_each_draft boolean NOT NULL DEFAULT false;
-- The kind of finding from which on a fitting holds its order; NULL: none does.
ALTER TABLE shops ADD COLUMN hold_on_fitting text
    CONSTRAINT shops_hold_on_fitting CHECK (hold_on_fitting IN ('not_put_on', 'tight', 'any'));

ALTER TABLE webhook_endpoints DROP CONSTRAINT webhook_endpoints_events;
ALTER TABLE webhook_endpoints ADD CONSTRAINT webhook_endpoints_events CHECK (
    cardinality(events) >= 1 AND events <@ ARRAY[
        'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed',
        'order.cut', 'order.shipped', 'order.uncut', 'fitting.ready']) NOT VALID;
ALTER TABLE webhook_endpoints VALIDATE CONSTRAINT webhook_endpoints_events;

-- +goose Down
UPDATE webhook_endpoints SET events = array_remove(events, 'fitting.ready');
DELETE FROM webhook_endpoints WHERE cardinality(events) = 0;
ALTER TABLE webhook_endpoints DROP CONSTRAINT webhook_endpoints_events;
ALTER TABLE webhook_endpoints ADD CONSTRAINT webhook_endpoints_events CHECK (
    cardinality(events) >= 1 AND events <@ ARRAY[
        'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed',
        'order.cut', 'order.shipped', 'order.uncut']);
ALTER TABLE shops DROP COLUMN fit_each_draft, DROP COLUMN hold_on_fitting;
DROP TABLE fittings;
