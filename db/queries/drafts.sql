-- name: DraftRevision :one
-- DraftRevision reads a draft with its document, compressed.
SELECT * FROM draft_revisions WHERE shop_id = @shop_id AND order_id = @order_id AND number = @number;

-- name: DraftDocuments :many
-- DraftDocuments lists the documents, compressed, of the drafts of orders that
-- are not erased, newest first.
SELECT order_id, number, document FROM draft_revisions
WHERE shop_id = @shop_id AND order_id = ANY (@order_ids::uuid[]) AND erased_at IS NULL
ORDER BY order_id, number DESC;

-- name: DraftHead :one
-- DraftHead reads a draft without its document, with the status and revision of
-- its order. Number 0 is the order's current draft.
SELECT sqlc.embed(d), o.status, coalesce(o.revision, 0)::integer AS current
FROM orders o JOIN draft_heads d ON d.order_id = o.id
    AND d.number = CASE WHEN @number::integer = 0 THEN o.revision ELSE sqlc.arg('number')::integer END
WHERE o.shop_id = @shop_id AND o.id = @order_id;

-- name: DraftHeads :many
-- DraftHeads lists an order's drafts below a number, newest first.
SELECT * FROM draft_heads
WHERE shop_id = @shop_id AND order_id = @order_id AND number < @below::integer
ORDER BY number DESC LIMIT @limit_::integer;

-- name: DraftInput :one
-- DraftInput reads, by the order's ID alone, all that its next draft is made
-- from. basis is the spec with measurements and the customer's latest
-- alterations, in one object.
SELECT sqlc.embed(i), k.id AS basis_alterations,
    (i.measured_spec || jsonb_strip_nulls(jsonb_build_object('altered_unit', k.unit, 'alterations', k.given)))::jsonb AS basis
FROM draft_inputs i
LEFT JOIN alterations k ON k.id = (
    SELECT x.id FROM alterations x
    WHERE x.customer_id = i.customer_id AND x.erased_at IS NULL ORDER BY x.version DESC LIMIT 1)
WHERE i.id = @order_id;

-- name: SettleDraft :one
-- SettleDraft writes the result of a drafting job: the order's status, the draft
-- if a document is given, a fitting of it if the shop tries each draft on, a line of
-- the history, and messages to the endpoints that subscribed to the type.
--
-- An order that no longer waits for the request gets nothing, and no row is
-- returned: a job that runs twice, or late, or on two replicas, leaves one
-- draft, one line and one message for each endpoint. It conflicts with
-- draft_revisions_not_erased if the customer was erased meanwhile.
WITH claimed AS (
    UPDATE orders o SET status = sqlc.arg('status')::text, reason_code = sqlc.narg('reason_code')::text,
        faults = sqlc.narg('faults')::jsonb, revision = nullif(sqlc.arg('revision')::integer, 0),
        updated_at = sqlc.arg('at')::timestamptz
    WHERE o.id = sqlc.arg('order_id')::uuid AND o.status = 'received' AND o.draft_request = sqlc.arg('request')::integer
    RETURNING o.id, o.shop_id, o.measurement_set_id, o.spec
), drafted AS (
    INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, alterations_id, spec, engine, hash,
        document, checks, label, parent, reason, created_by, created_at)
    SELECT claimed.id, sqlc.arg('revision')::integer, claimed.shop_id, claimed.measurement_set_id,
        sqlc.narg('alterations_id')::uuid, claimed.spec, sqlc.narg('engine')::text, sqlc.narg('hash')::bytea,
        sqlc.narg('document')::bytea, sqlc.narg('checks')::jsonb, sqlc.narg('label')::jsonb,
        sqlc.narg('parent')::integer, sqlc.narg('reason')::text, sqlc.narg('created_by')::uuid,
        sqlc.arg('at')::timestamptz
    FROM claimed WHERE sqlc.narg('document')::bytea IS NOT NULL
    RETURNING shop_id, order_id, number, created_at
), fitted AS (
    INSERT INTO fittings (id, shop_id, order_id, revision, level, automatic, state, created_at)
    SELECT uuid_v7(d.created_at), d.shop_id, d.order_id, d.number, 'quick', true, 'queued', d.created_at
    FROM drafted d JOIN shops s ON s.id = d.shop_id JOIN shops o ON o.id = coalesce(s.test_of, s.id)
    WHERE o.fit_each_draft
    RETURNING id
), noted AS (
    INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, at)
    SELECT claimed.shop_id, claimed.id, sqlc.arg('event')::text, 'received', sqlc.arg('status')::text,
        sqlc.narg('event_revision')::integer, sqlc.narg('reason_code')::text, sqlc.arg('at')::timestamptz
    FROM claimed
), queued AS (
    INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
    SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, sqlc.narg('message_type')::text, claimed.id,
        sqlc.narg('message_body')::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
    FROM claimed JOIN order_receivers e ON e.orders_of = claimed.shop_id
    WHERE sqlc.narg('message_type')::text = ANY (e.events)
)
SELECT fitted.id AS fitting_id FROM claimed LEFT JOIN fitted ON true;
