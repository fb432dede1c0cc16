-- name: PlaceOrder :one
-- PlaceOrder stores an order with the first line of its history, and messages
-- to the endpoints that subscribed to the type, if one is given. With
-- ensure_customer it finds the customer by reference or creates one, and sets
-- the name if one is given; otherwise customer_id names one. With given it stores
-- the customer's next measurement set; otherwise measurement_set_id names one.
--
-- It also counts the orders of the shop that waited to be drafted before this one,
-- up to a limit. It returns no row if the shop has no such customer or the customer is erased; the
-- lock on the customer makes an erasure wait. A taken reference conflicts with
-- orders_reference_key, a set of another customer with
-- orders_measurement_set_fkey.
WITH ensured AS (
    INSERT INTO customers (id, shop_id, reference, name, sets, created_at, updated_at)
    SELECT sqlc.arg('customer_id')::uuid, sqlc.arg('shop_id')::uuid, sqlc.narg('customer_reference')::text,
        sqlc.narg('customer_name')::text, (sqlc.narg('given')::jsonb IS NOT NULL)::integer,
        sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
    WHERE sqlc.arg('ensure_customer')::boolean
    ON CONFLICT (shop_id, reference) DO UPDATE SET
        sets = customers.sets + excluded.sets,
        name = coalesce(excluded.name, customers.name),
        updated_at = CASE WHEN excluded.name IS NOT NULL AND excluded.name IS DISTINCT FROM customers.name
            THEN excluded.updated_at ELSE customers.updated_at END
    RETURNING customers.id, customers.sets
), counted AS (
    UPDATE customers c SET sets = c.sets + 1
    WHERE NOT sqlc.arg('ensure_customer')::boolean AND sqlc.narg('given')::jsonb IS NOT NULL
        AND c.shop_id = sqlc.arg('shop_id')::uuid AND c.id = sqlc.arg('customer_id')::uuid AND c.erased_at IS NULL
    RETURNING c.id, c.sets
), locked AS (
    SELECT c.id, c.sets FROM customers c
    WHERE NOT sqlc.arg('ensure_customer')::boolean AND sqlc.narg('given')::jsonb IS NULL
        AND c.shop_id = sqlc.arg('shop_id')::uuid AND c.id = sqlc.arg('customer_id')::uuid AND c.erased_at IS NULL
    FOR SHARE
), owner AS (
    SELECT e.id, e.sets FROM ensured e
    UNION ALL SELECT n.id, n.sets FROM counted n
    UNION ALL SELECT l.id, l.sets FROM locked l
), measured AS (
    INSERT INTO measurement_sets (id, shop_id, customer_id, version, unit, given, report, created_by, created_at)
    SELECT sqlc.arg('measurement_set_id')::uuid, sqlc.arg('shop_id')::uuid, owner.id, owner.sets,
        sqlc.narg('unit')::text, sqlc.narg('given')::jsonb, sqlc.narg('report')::jsonb,
        sqlc.narg('created_by')::uuid, sqlc.arg('at')::timestamptz
    FROM owner WHERE sqlc.narg('given')::jsonb IS NOT NULL
), placed AS (
    INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status, reason_code,
        due_date, created_by, created_at, updated_at)
    SELECT sqlc.arg('id')::uuid, sqlc.arg('shop_id')::uuid, sqlc.arg('reference')::text, owner.id,
        sqlc.arg('measurement_set_id')::uuid, sqlc.arg('source')::text, sqlc.arg('spec')::jsonb,
        sqlc.arg('status')::text, sqlc.narg('reason_code')::text, sqlc.narg('due_date')::date,
        sqlc.narg('created_by')::uuid, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
    FROM owner
    RETURNING orders.id, orders.shop_id, orders.customer_id
), noted AS (
    INSERT INTO order_events (shop_id, order_id, event, to_status, reason_code, actor, at)
    SELECT placed.shop_id, placed.id, sqlc.arg('event')::text, sqlc.arg('status')::text,
        sqlc.narg('reason_code')::text, sqlc.narg('created_by')::uuid, sqlc.arg('at')::timestamptz
    FROM placed
), queued AS (
    INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
    SELECT uuid_v7(sqlc.arg('at')::timestamptz), e.shop_id, e.id, sqlc.narg('message_type')::text, placed.id,
        sqlc.narg('message_body')::text, sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
    FROM placed JOIN order_receivers e ON e.orders_of = placed.shop_id
    WHERE sqlc.narg('message_type')::text = ANY (e.events)
)
SELECT placed.customer_id, owner.sets AS customer_sets, (
    SELECT count(*) FROM (
        SELECT 1 FROM orders w WHERE w.shop_id = sqlc.arg('shop_id')::uuid AND w.status = 'received'
        LIMIT sqlc.arg('most_waiting')::integer
    ) AS waiting
) AS waiting
FROM placed JOIN owner ON true;

-- name: Order :one
SELECT * FROM shop_orders WHERE shop_id = @shop_id AND id = @id;

-- name: OrderForUpdate :one
-- OrderForUpdate reads an order and locks it until the transaction ends.
SELECT * FROM shop_orders WHERE shop_id = @shop_id AND id = @id FOR NO KEY UPDATE;

-- name: UpdateOrder :one
-- UpdateOrder writes the parts of an order that may change. An order whose
-- status is no longer from_status is not found. The caller checks which status
-- may follow which.
UPDATE orders SET measurement_set_id = @measurement_set_id, spec = @spec, status = @status,
    reason_code = @reason_code, faults = @faults, revision = nullif(@revision::integer, 0),
    draft_request = @draft_request, progress = @progress, due_date = @due_date, assignee = @assignee, note = @note,
    updated_at = @updated_at
WHERE shop_id = @shop_id AND id = @id AND status = @from_status
RETURNING id;

-- name: ListOrders :many
-- ListOrders lists a shop's orders, newest first, or with by_due those first that are
-- due first, and those without a due date last. It continues after the order with the
-- ID below, which with by_due is due on after_due. search is a pattern of LIKE for the
-- order's reference, or the customer's reference or name. With open it lists those that
-- are neither shipped nor cancelled.
SELECT * FROM shop_orders o
WHERE o.shop_id = @shop_id
    AND CASE WHEN @by_due::boolean
        THEN coalesce(o.due_date, 'infinity') >= coalesce(sqlc.narg('after_due')::date, 'infinity')
            AND (coalesce(o.due_date, 'infinity') > coalesce(sqlc.narg('after_due')::date, 'infinity')
                OR o.id < sqlc.arg('below')::uuid)
        ELSE o.id < sqlc.arg('below')::uuid END
    AND (sqlc.narg('statuses')::text[] IS NULL OR o.status = ANY (sqlc.narg('statuses')::text[]))
    AND (sqlc.narg('progress')::text[] IS NULL OR o.progress = ANY (sqlc.narg('progress')::text[]))
    AND (sqlc.narg('search')::text IS NULL OR o.reference ILIKE sqlc.narg('search') OR o.customer_id IN (
        SELECT c.id FROM customers c WHERE c.shop_id = o.shop_id
            AND (c.name ILIKE sqlc.narg('search') OR c.reference ILIKE sqlc.narg('search'))))
    AND (sqlc.narg('reference')::text IS NULL OR o.reference = sqlc.narg('reference'))
    AND (sqlc.narg('customer_id')::uuid IS NULL OR o.customer_id = sqlc.narg('customer_id'))
    AND (sqlc.narg('block')::text IS NULL OR o.block = sqlc.narg('block'))
    AND (sqlc.narg('style')::text IS NULL OR o.style = sqlc.narg('style'))
    AND (sqlc.narg('assignee')::text IS NULL OR o.assignee = sqlc.narg('assignee'))
    AND (sqlc.narg('created_from')::timestamptz IS NULL OR o.created_at >= sqlc.narg('created_from'))
    AND (sqlc.narg('created_before')::timestamptz IS NULL OR o.created_at < sqlc.narg('created_before'))
    AND (sqlc.narg('updated_from')::timestamptz IS NULL OR o.updated_at >= sqlc.narg('updated_from'))
    AND (sqlc.narg('due_from')::date IS NULL OR o.due_date >= sqlc.narg('due_from'))
    AND (sqlc.narg('due_before')::date IS NULL OR coalesce(o.due_date, 'infinity') < sqlc.narg('due_before'))
    AND (NOT @open::boolean OR o.status <> 'cancelled' AND o.progress <> 'shipped')
ORDER BY CASE WHEN sqlc.arg('by_due')::boolean THEN coalesce(o.due_date, 'infinity') END, o.id DESC LIMIT @limit_::integer;

-- name: AppendEvent :exec
-- AppendEvent adds a line to an order's history.
INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, reason, confirmed, actor, at)
VALUES (@shop_id, @order_id, @event, @from_status, @to_status, @revision, @reason_code, @reason, @confirmed, @actor, @at);

-- name: OrderEvents :many
-- OrderEvents lists the histories of orders, oldest first, after a line.
SELECT * FROM order_events
WHERE shop_id = @shop_id AND order_id = ANY (@order_ids::uuid[]) AND id > @after::bigint
ORDER BY id LIMIT @limit_::integer;

-- name: InsertInboundMessage :exec
-- InsertInboundMessage stores a message that a shop sent and that became an
-- order. It conflicts with inbound_messages_pkey if it is stored already.
INSERT INTO inbound_messages (shop_id, message_id, body_hash, order_id, received_at)
VALUES (@shop_id, @message_id, @body_hash, @order_id, @received_at);

-- name: InboundMessage :one
SELECT * FROM inbound_messages WHERE shop_id = @shop_id AND message_id = @message_id;

-- name: SaveAnswer :exec
-- SaveAnswer stores the answer to a request whose key this transaction claimed.
INSERT INTO idempotency_keys (shop_id, key, fingerprint, answer, customer_id, created_at)
VALUES (@shop_id, @key, @fingerprint, @answer, @customer_id, @created_at);

-- name: LastOrderEvent :one
-- LastOrderEvent returns the number of the last thing that happened to any of a
-- shop's orders, or to one of them; 0 if nothing did.
SELECT coalesce(max(id), 0)::bigint AS last FROM order_events
WHERE shop_id = @shop_id AND (sqlc.narg('order_id')::uuid IS NULL OR order_id = sqlc.narg('order_id'));

-- name: CountOrders :many
-- CountOrders counts a shop's orders by status and progress: all, those that are late
-- on a day, and those whose assignee has the name of a key and that are neither shipped
-- nor cancelled.
SELECT o.status, o.progress, count(*) AS orders,
    count(*) FILTER (WHERE o.due_date < @today::date AND o.status <> 'cancelled' AND o.progress <> 'shipped') AS late,
    count(*) FILTER (WHERE o.assignee = k.name AND o.status <> 'cancelled' AND o.progress <> 'shipped') AS mine
FROM orders o LEFT JOIN api_keys k ON k.id = @key_id
WHERE o.shop_id = @shop_id GROUP BY o.status, o.progress;

-- name: Assignees :many
-- Assignees lists who makes a shop's open orders, by name.
SELECT DISTINCT assignee::text AS assignee FROM orders
WHERE shop_id = @shop_id AND assignee IS NOT NULL AND status <> 'cancelled' AND progress <> 'shipped'
ORDER BY assignee LIMIT @limit_::integer;
