-- By when an order is due, who makes it, and what staff note about it; the day in which a shop lives; and
-- messages of a garment's progress.

-- +goose Up
ALTER TABLE shops ADD COLUMN time_zone text NOT NULL DEFAULT 'UTC'
    CONSTRAINT shops_time_zone CHECK (char_length(time_zone) BETWEEN 1 AND 60); -- a name of IANA's database

ALTER TABLE orders
    ADD COLUMN due_date date,
    ADD COLUMN assignee text CONSTRAINT orders_assignee CHECK (char_length(assignee) BETWEEN 1 AND 120),
    ADD COLUMN note text CONSTRAINT orders_note CHECK (char_length(note) BETWEEN 1 AND 2000); -- goes when the customer is erased

CREATE OR REPLACE VIEW shop_orders AS
    SELECT o.id, o.shop_id, o.reference, o.customer_id,
        (SELECT c.reference FROM customers c WHERE c.id = o.customer_id) AS customer_reference,
        (SELECT c.name FROM customers c WHERE c.id = o.customer_id) AS customer_name, o.measurement_set_id, o.source, o.spec, o.block, o.style,
        o.status, o.reason_code, o.faults, coalesce(o.revision, 0)::integer AS revision,
        (SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision) AS alterations_id,
        o.draft_request, o.progress, o.created_by, o.created_at, o.updated_at, o.due_date, o.assignee, o.note
    FROM orders o;

ALTER TABLE webhook_endpoints DROP CONSTRAINT webhook_endpoints_events;
ALTER TABLE webhook_endpoints ADD CONSTRAINT webhook_endpoints_events CHECK (
    cardinality(events) >= 1 AND events <@ ARRAY[
        'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed',
        'order.cut', 'order.shipped', 'order.uncut']) NOT VALID;
ALTER TABLE webhook_endpoints VALIDATE CONSTRAINT webhook_endpoints_events;

-- +goose Down
UPDATE webhook_endpoints SET events = ARRAY(
    SELECT e FROM unnest(events) e WHERE e NOT IN ('order.cut', 'order.shipped', 'order.uncut'));
DELETE FROM webhook_endpoints WHERE cardinality(events) = 0;
ALTER TABLE webhook_endpoints DROP CONSTRAINT webhook_endpoints_events;
ALTER TABLE webhook_endpoints ADD CONSTRAINT webhook_endpoints_events CHECK (
    cardinality(events) >= 1 AND events <@ ARRAY[
        'order.received', 'order.held', 'order.ready', 'order.revised', 'order.cancelled', 'order.failed']);
DROP VIEW draft_inputs;
DROP VIEW shop_orders;
CREATE VIEW shop_orders AS
    SELECT o.id, o.shop_id, o.reference, o.customer_id,
        (SELECT c.reference FROM customers c WHERE c.id = o.customer_id) AS customer_reference,
        (SELECT c.name FROM customers c WHERE c.id = o.customer_id) AS customer_name, o.measurement_set_id, o.source, o.spec, o.block, o.style,
        o.status, o.reason_code, o.faults, coalesce(o.revision, 0)::integer AS revision,
        (SELECT d.alterations_id FROM draft_revisions d WHERE d.order_id = o.id AND d.number = o.revision) AS alterations_id,
        o.draft_request, o.progress, o.created_by, o.created_at, o.updated_at
    FROM orders o;
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
ALTER TABLE orders DROP COLUMN note, DROP COLUMN assignee, DROP COLUMN due_date;
ALTER TABLE shops DROP COLUMN time_zone;
