-- name: InsertCustomer :exec
-- InsertCustomer conflicts with customers_reference_key if the reference is
-- taken.
INSERT INTO customers (id, shop_id, reference, name, created_at, updated_at)
VALUES (@id, @shop_id, @reference, @name, @created_at, @created_at);

-- name: Customer :one
SELECT * FROM customers WHERE shop_id = @shop_id AND id = @id;

-- name: ListCustomers :many
-- ListCustomers lists a shop's customers, newest first.
SELECT * FROM customers
WHERE shop_id = @shop_id AND id < @below::uuid
    AND (sqlc.narg('reference')::text IS NULL OR reference = sqlc.narg('reference'))
ORDER BY id DESC LIMIT @limit_::integer;

-- name: UpdateCustomer :one
-- UpdateCustomer sets reference and name. An erased customer is not found.
UPDATE customers SET reference = @reference, name = @name, updated_at = @updated_at
WHERE shop_id = @shop_id AND id = @id AND erased_at IS NULL RETURNING *;

-- name: InsertMeasurementSet :one
-- InsertMeasurementSet stores the next version of a customer's measurements.
-- Counting in the customer's row makes concurrent inserts wait for each other.
-- An unknown or erased customer is not found.
WITH owner AS (
    UPDATE customers SET sets = sets + 1
    WHERE customers.shop_id = @shop_id AND customers.id = @customer_id AND customers.erased_at IS NULL
    RETURNING customers.id, customers.sets
)
INSERT INTO measurement_sets (id, shop_id, customer_id, version, unit, given, report, created_by, created_at)
SELECT @id, @shop_id, owner.id, owner.sets, @unit, @given, @report, @created_by, @created_at
FROM owner
RETURNING version;

-- name: MeasurementSet :one
SELECT * FROM measurement_sets WHERE shop_id = @shop_id AND id = @id;

-- name: MeasurementSets :many
-- MeasurementSets lists a customer's sets that are not erased, newest first.
SELECT * FROM measurement_sets
WHERE shop_id = @shop_id AND customer_id = @customer_id AND id < @below::uuid AND erased_at IS NULL
ORDER BY id DESC LIMIT @limit_::integer;

-- name: LatestMeasurementSets :many
-- LatestMeasurementSets returns the ID of the latest set of each customer of a
-- shop who is not erased, newest customers first.
SELECT m.id FROM customers c JOIN measurement_sets m ON m.customer_id = c.id AND m.version = c.sets
WHERE c.shop_id = @shop_id AND c.erased_at IS NULL AND m.erased_at IS NULL
ORDER BY c.id DESC LIMIT @limit_::integer;

-- name: MeasurementSetsByID :many
SELECT * FROM measurement_sets WHERE shop_id = @shop_id AND id = ANY (@ids::uuid[]);

-- name: InsertAlterations :one
-- InsertAlterations stores the next version of a customer's alterations, as
-- InsertMeasurementSet does measurements.
WITH owner AS (
    UPDATE customers SET alterations = alterations + 1
    WHERE customers.shop_id = @shop_id AND customers.id = @customer_id AND customers.erased_at IS NULL
    RETURNING customers.id, customers.alterations
)
INSERT INTO alterations (id, shop_id, customer_id, version, unit, given, reason, created_by, created_at)
SELECT @id, @shop_id, owner.id, owner.alterations, @unit, @given, @reason, @created_by, @created_at
FROM owner
RETURNING version;

-- name: AlterationSet :one
SELECT * FROM alterations WHERE shop_id = @shop_id AND id = @id;

-- name: LatestAlterations :one
-- LatestAlterations returns the version that applies.
SELECT * FROM alterations WHERE shop_id = @shop_id AND customer_id = @customer_id ORDER BY version DESC LIMIT 1;

-- name: AlterationSets :many
-- AlterationSets lists a customer's versions that are not erased, newest first.
SELECT * FROM alterations
WHERE shop_id = @shop_id AND customer_id = @customer_id AND id < @below::uuid AND erased_at IS NULL
ORDER BY id DESC LIMIT @limit_::integer;

-- name: AssessmentLevels :one
SELECT check_note, check_confirm, check_refuse FROM shops WHERE id = @id;

-- name: SetAssessmentLevels :one
UPDATE shops SET check_note = @check_note, check_confirm = @check_confirm, check_refuse = @check_refuse
WHERE id = @id RETURNING id;

-- name: SetConfirmed :one
-- SetConfirmed reports whether the spec of an order of the customer says that
-- the measurement set was confirmed.
SELECT EXISTS (
    SELECT FROM orders o JOIN measurement_sets m ON m.customer_id = o.customer_id
    WHERE m.shop_id = @shop_id AND m.id = @id AND o.spec ->> 'confirmed' = m.id::text);

-- name: EraseCustomer :one
-- EraseCustomer empties a customer's row. Its lock makes new orders and sets
-- wait, and then fail. An unknown or erased customer is not found.
UPDATE customers SET name = NULL, reference = NULL, erased_at = @at::timestamptz, updated_at = sqlc.arg('at')::timestamptz
WHERE shop_id = @shop_id AND id = @id AND erased_at IS NULL RETURNING id;

-- name: EraseCustomerData :one
-- EraseCustomerData empties all that is stored about a customer elsewhere:
-- measurements and their assessment, alterations, drafts and comparisons of
-- them, reasons in the history, faults of orders, download links, and answers
-- to repeated requests. Orders stay as bare records. It must run after
-- EraseCustomer, in the same transaction, to see all that was added before.
WITH theirs AS (
    SELECT o.id FROM orders o WHERE o.customer_id = @customer_id
), sets AS (
    UPDATE measurement_sets m SET given = NULL, report = NULL, erased_at = @at::timestamptz
    WHERE m.customer_id = sqlc.arg('customer_id') AND m.erased_at IS NULL RETURNING m.id
), altered AS (
    UPDATE alterations a SET given = NULL, reason = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE a.customer_id = sqlc.arg('customer_id') AND a.erased_at IS NULL RETURNING a.id
), drafts AS (
    UPDATE draft_revisions d SET document = NULL, checks = NULL, label = NULL, reason = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE d.order_id IN (SELECT theirs.id FROM theirs) AND d.erased_at IS NULL RETURNING d.order_id
), events AS (
    UPDATE order_events e SET reason = NULL, confirmed = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE e.order_id IN (SELECT theirs.id FROM theirs) AND (e.reason IS NOT NULL OR e.confirmed IS NOT NULL)
        AND e.erased_at IS NULL RETURNING e.id
), compared AS (
    UPDATE refit_orders r SET comparison = NULL, faults = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE r.order_id IN (SELECT theirs.id FROM theirs) AND r.erased_at IS NULL RETURNING r.order_id
), faulty AS (
    UPDATE orders f SET faults = NULL
    WHERE f.customer_id = sqlc.arg('customer_id') AND f.faults IS NOT NULL RETURNING f.id
), links AS (
    DELETE FROM download_links l WHERE l.order_id IN (SELECT theirs.id FROM theirs) RETURNING l.id
), answers AS (
    DELETE FROM idempotency_keys k WHERE k.customer_id = sqlc.arg('customer_id') RETURNING k.key
)
SELECT (SELECT count(*) FROM sets)::integer AS measurement_sets, (SELECT count(*) FROM altered)::integer AS alterations,
    (SELECT count(*) FROM drafts)::integer AS drafts, (SELECT count(*) FROM links)::integer AS links;

-- name: StaleCustomers :many
-- StaleCustomers lists customers who are not erased and for whom nothing was
-- done within their shop's retention time: no order or change of one, no
-- measurements, no alterations.
SELECT c.id, c.shop_id
FROM (
    SELECT shops.id, sqlc.arg('now')::timestamptz - shops.retention_days * interval '1 day' AS since
    FROM shops WHERE shops.retention_days IS NOT NULL
) s
JOIN customers c ON c.shop_id = s.id AND c.erased_at IS NULL AND c.updated_at < s.since
WHERE NOT EXISTS (SELECT FROM orders o WHERE o.customer_id = c.id AND o.updated_at >= s.since)
    AND NOT EXISTS (SELECT FROM measurement_sets m WHERE m.customer_id = c.id AND m.created_at >= s.since)
    AND NOT EXISTS (SELECT FROM alterations a WHERE a.customer_id = c.id AND a.created_at >= s.since)
ORDER BY c.id LIMIT @limit_::integer;
