-- name: InsertCustomer :exec
-- InsertCustomer conflicts with customers_reference_key if the reference is
-- taken.
INSERT INTO customers (id, shop_id, reference, name, created_at, updated_at)
VALUES (@id, @shop_id, @reference, @name, @created_at, @created_at);

-- name: Customer :one
SELECT * FROM customers WHERE shop_id = @shop_id AND id = @id;

-- name: ListCustomers :many
-- ListCustomers lists a shop's customers, newest first. search is a pattern of LIKE
-- for the reference or the name.
SELECT * FROM customers
WHERE shop_id = @shop_id AND id < @below::uuid
    AND (sqlc.narg('search')::text IS NULL OR reference ILIKE sqlc.narg('search') OR name ILIKE sqlc.narg('search'))
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

-- name: LatestMeasurementSet :one
-- LatestMeasurementSet returns a customer's latest set.
SELECT * FROM measurement_sets WHERE shop_id = @shop_id AND customer_id = @customer_id ORDER BY version DESC LIMIT 1;

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
-- AssessmentLevels returns the levels of a shop, or of the one that it is the test shop of.
SELECT p.check_note, p.check_confirm, p.check_refuse
FROM shops s JOIN shops p ON p.id = coalesce(s.test_of, s.id) WHERE s.id = @id;

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
-- measurements and their assessment, alterations, drafts, fittings and comparisons of
-- them, reasons in the history, faults and notes of orders, what orders and drafts say beside
-- the garment, and answers to repeated requests. It revokes download links, begins
-- running proofs on the customer's measurements again, without them, and empties
-- what finished ones say of fewer than three people. Orders stay as bare records: reference, garment, fit, states and
-- times. It must run after EraseCustomer, in the same transaction, to see all that
-- was added before.
WITH theirs AS (
    SELECT o.id FROM orders o WHERE o.customer_id = @customer_id
), sets AS (
    UPDATE measurement_sets m SET given = NULL, report = NULL, erased_at = @at::timestamptz
    WHERE m.customer_id = sqlc.arg('customer_id') AND m.erased_at IS NULL RETURNING m.id
), altered AS (
    UPDATE alterations a SET given = NULL, reason = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE a.customer_id = sqlc.arg('customer_id') AND a.erased_at IS NULL RETURNING a.id
), drafts AS (
    UPDATE draft_revisions d SET document = NULL, checks = NULL, label = NULL, reason = NULL, spec = bare_spec(d.spec),
        erased_at = sqlc.arg('at')::timestamptz
    WHERE d.order_id IN (SELECT theirs.id FROM theirs) AND d.erased_at IS NULL RETURNING d.order_id
), events AS (
    UPDATE order_events e SET reason = NULL, confirmed = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE e.order_id IN (SELECT theirs.id FROM theirs) AND (e.reason IS NOT NULL OR e.confirmed IS NOT NULL)
        AND e.erased_at IS NULL RETURNING e.id
), fitted AS (
    DELETE FROM fittings t WHERE t.order_id IN (SELECT theirs.id FROM theirs) RETURNING t.id
), refitted AS (
    DELETE FROM refit_fittings t WHERE t.order_id IN (SELECT theirs.id FROM theirs) RETURNING t.order_id
), compared AS (
    UPDATE refit_orders r SET comparison = NULL, faults = NULL, erased_at = sqlc.arg('at')::timestamptz
    WHERE r.order_id IN (SELECT theirs.id FROM theirs) AND r.erased_at IS NULL RETURNING r.order_id
), bared AS (
    UPDATE orders f SET faults = NULL, note = NULL, spec = bare_spec(f.spec)
    WHERE f.customer_id = sqlc.arg('customer_id') RETURNING f.id
), running AS (
    UPDATE style_proofs p SET done = 0, counted = NULL
    WHERE p.bodies = 'customers' AND p.finished_at IS NULL AND p.body_rows ?| ARRAY(SELECT sets.id::text FROM sets)
    RETURNING p.id
), proved AS (
    UPDATE style_proofs p SET result = without_people(p.result, ARRAY(SELECT sets.id::text FROM sets))
    WHERE p.bodies = 'customers' AND p.result IS NOT NULL AND p.shop_id = (SELECT c.shop_id FROM customers c WHERE c.id = sqlc.arg('customer_id'))
        AND p.result IS DISTINCT FROM without_people(p.result, ARRAY(SELECT sets.id::text FROM sets))
    RETURNING p.id
), links AS (
    UPDATE download_links l SET revoked_at = sqlc.arg('at')::timestamptz
    WHERE l.order_id IN (SELECT theirs.id FROM theirs) AND l.revoked_at IS NULL RETURNING l.id
), answers AS (
    DELETE FROM idempotency_keys k WHERE k.customer_id = sqlc.arg('customer_id') RETURNING k.key
)
SELECT (SELECT count(*) FROM sets)::integer AS measurement_sets, (SELECT count(*) FROM altered)::integer AS alterations,
    (SELECT count(*) FROM drafts)::integer AS drafts, (SELECT count(*) FROM links)::integer AS links;

-- name: EraseRefitReasons :exec
-- EraseRefitReasons empties the reasons of refits of which no order is of a
-- customer who is not erased. With customer_id it looks at refits of that
-- customer's orders only.
WITH theirs AS (
    SELECT f.id FROM refits f
    WHERE f.reason <> '' AND f.orders > 0
        AND (sqlc.narg('customer_id')::uuid IS NULL OR f.id IN (
            SELECT r.refit_id FROM refit_orders r JOIN orders o ON o.id = r.order_id
            WHERE o.customer_id = sqlc.narg('customer_id')::uuid))
        AND NOT EXISTS (
            SELECT FROM refit_orders x JOIN orders y ON y.id = x.order_id JOIN customers c ON c.id = y.customer_id
            WHERE x.refit_id = f.id AND c.erased_at IS NULL)
    ORDER BY f.id FOR NO KEY UPDATE
)
UPDATE refits f SET reason = '' FROM theirs WHERE f.id = theirs.id;

-- name: StaleCustomers :many
-- StaleCustomers lists customers who are not erased and for whom nothing was
-- done within their shop's retention time: no order or change of one, no
-- measurements, no alterations. With id it looks at that customer only.
SELECT c.id, c.shop_id, s.test_of
FROM (
    SELECT shops.id, shops.test_of, sqlc.arg('now')::timestamptz - shops.retention_days * interval '1 day' AS since
    FROM shops WHERE shops.retention_days IS NOT NULL
) s
JOIN customers c ON c.shop_id = s.id AND c.erased_at IS NULL AND c.updated_at < s.since
WHERE NOT EXISTS (SELECT FROM orders o WHERE o.customer_id = c.id AND o.updated_at >= s.since)
    AND NOT EXISTS (SELECT FROM measurement_sets m WHERE m.customer_id = c.id AND m.created_at >= s.since)
    AND NOT EXISTS (SELECT FROM alterations a WHERE a.customer_id = c.id AND a.created_at >= s.since)
    AND (sqlc.narg('id')::uuid IS NULL OR c.id = sqlc.narg('id')::uuid)
ORDER BY c.id LIMIT @limit_::integer;

-- name: LockCustomer :exec
-- LockCustomer makes new orders and sets of a customer wait until the transaction
-- ends.
SELECT FROM customers WHERE id = @id FOR UPDATE;
