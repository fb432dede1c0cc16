-- Test keys. What they make belongs to a shop of its own, the test shop of their shop, so that every query
-- and constraint that keeps shops apart keeps test orders from the real ones: lists, counts, references,
-- refits and retention. Styles and levels of the check are the shop's.

-- +goose Up
ALTER TABLE shops ADD COLUMN test_of uuid CONSTRAINT shops_test_of_key UNIQUE REFERENCES shops,
    ADD CONSTRAINT shops_test_of CHECK (test_of <> id);
ALTER TABLE api_keys ADD COLUMN test boolean NOT NULL DEFAULT false,
    ADD CONSTRAINT api_keys_test CHECK (NOT (test AND role = 'publishable'));

-- For each shop, the endpoints that hear of its orders: its own and, of a test shop, those of the shop that
-- it is of. A message belongs to the endpoint's shop.
CREATE VIEW order_receivers AS
    SELECT e.id, e.shop_id, e.events, s.id AS orders_of
    FROM shops s JOIN webhook_receivers e ON e.shop_id = s.id OR e.shop_id = s.test_of;

-- +goose Down
DROP VIEW order_receivers;
ALTER TABLE api_keys DROP COLUMN test;
ALTER TABLE shops DROP COLUMN test_of;
