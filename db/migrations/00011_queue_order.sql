-- Indexes of the queue: open orders by the day that they are due, by who makes them, and what changed since.

-- +goose NO TRANSACTION
-- +goose Up
CREATE INDEX CONCURRENTLY orders_shop_due ON orders (shop_id, coalesce(due_date, 'infinity'::date), id DESC)
    WHERE status <> 'cancelled' AND progress <> 'shipped';
CREATE INDEX CONCURRENTLY orders_shop_assignee ON orders (shop_id, assignee, id DESC) WHERE assignee IS NOT NULL;
CREATE INDEX CONCURRENTLY orders_shop_updated ON orders (shop_id, updated_at);

-- +goose Down
DROP INDEX orders_shop_updated;
DROP INDEX orders_shop_assignee;
DROP INDEX orders_shop_due;
