-- Questions that a customer answers by a signed link.

-- +goose Up
-- One request to a customer to say whether the numbers in doubt of a held order are right. Its address
-- is signed with the shop's link_key. It has no numbers of its own: they are those of the order's faults.
CREATE TABLE questions (
    id                 uuid        PRIMARY KEY,
    shop_id            uuid        NOT NULL,
    order_id           uuid        NOT NULL,
    measurement_set_id uuid        NOT NULL, -- whose numbers are in doubt; with another set the question is over
    created_by         uuid        REFERENCES api_keys,
    created_at         timestamptz NOT NULL,
    expires_at         timestamptz NOT NULL,
    answered_at        timestamptz, -- a question is answered once
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT questions_expiry CHECK (expires_at > created_at)
);
CREATE INDEX questions_order ON questions (order_id, id DESC);
CREATE INDEX questions_old ON questions (expires_at);

-- A customer's answer requests a draft, as a confirmation by the shop does.
DROP VIEW draft_inputs;
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
        WHERE x.order_id = o.id AND x.event IN ('received', 'confirmed', 'answered', 'revising') ORDER BY x.id DESC LIMIT 1);

-- +goose Down
DROP VIEW draft_inputs;
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
DROP TABLE questions;
