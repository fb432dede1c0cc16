-- name: CancelCustomerOrders :many
-- CancelCustomerOrders cancels all orders of a customer that are not cancelled,
-- with a line in the history of each and an entry in the audit trail.
WITH open AS (
    SELECT o.id, o.status FROM orders o
    WHERE o.shop_id = @shop_id AND o.customer_id = @customer_id AND o.status <> 'cancelled'
    ORDER BY o.id FOR NO KEY UPDATE
), cancelled AS (
    UPDATE orders o SET status = 'cancelled', reason_code = @reason::text, faults = NULL, updated_at = @at::timestamptz
    FROM open WHERE o.id = open.id
    RETURNING o.id, o.reference, o.revision, open.status AS from_status
), events AS (
    INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, actor, at)
    SELECT sqlc.arg('shop_id'), c.id, 'cancelled', c.from_status, 'cancelled', c.revision, sqlc.arg('reason')::text,
        sqlc.narg('actor')::uuid, sqlc.arg('at')::timestamptz
    FROM cancelled c ORDER BY c.id
), audited AS (
    INSERT INTO audit_entries (shop_id, actor, action, subject_type, subject_id, request_id, at)
    SELECT sqlc.arg('shop_id'), sqlc.narg('actor')::uuid, 'order.cancelled', 'order', c.id,
        sqlc.narg('request_id')::text, sqlc.arg('at')::timestamptz
    FROM cancelled c ORDER BY c.id
)
SELECT c.id, c.reference, coalesce(c.revision, 0)::integer AS revision FROM cancelled c ORDER BY c.id;

-- name: AddOrderMessages :exec
-- AddOrderMessages adds a message about each order, with the body at the same
-- position, for each endpoint of the shop that is subscribed to the type.
INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
SELECT uuid_v7(@at::timestamptz), e.shop_id, e.id, @type::text, m.order_id, m.body,
    sqlc.arg('at')::timestamptz, sqlc.arg('at')::timestamptz
FROM order_receivers e, (SELECT unnest(@order_ids::uuid[]) AS order_id, unnest(@bodies::text[]) AS body) m
WHERE e.orders_of = @shop_id AND sqlc.arg('type')::text = ANY (e.events);
